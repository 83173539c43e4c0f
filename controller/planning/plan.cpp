#include "planning/plan.hpp"

#include <set>

#include "quantity/quantity.hpp"

namespace shankwright::planning {
namespace {

using quantity::print;

std::string path_of(std::size_t assembly) {
  return "assemblies[" + std::to_string(assembly) + "]";
}

/// `said`: recipes whose growth share was remarked on already.
void add_cautions(const AssemblyPlan& planned, const std::string& path, std::set<std::string>& said,
                  Cautions& out) {
  const Assembly& assembly = planned.assembly;
  if (planned.tension_share > tension_share_usual) {
    out.push_back({Caution::tension_above_working_share, path + ".tension",
                   print(100 * planned.tension_share, "%", 1) + " of the minimum breaking force",
                   "at most " + print(100 * tension_share_usual, "%", 0) + " is usual for a steady tension"});
  }
  if (assembly.length_tolerance_mm && planned.account.uncertainty_mm > *assembly.length_tolerance_mm) {
    out.push_back(
        {Caution::length_tolerance_too_tight, path + ".length_tolerance",
         print(*assembly.length_tolerance_mm, "mm", 1) + " asked, " +
             print(planned.account.uncertainty_mm, "mm", 1) + " is how well the length is known",
         "an end that can be adjusted, or a first piece measured at tension before the rest is cut"});
  }
  for (std::size_t i = 0; i < 2; ++i) {
    const End& end = assembly.ends[i];
    const std::string end_path = path + ".ends[" + std::to_string(i) + "]";
    if (end.making != EndMaking::swaged) {
      out.push_back({Caution::end_given_by_job, end_path, end.what + ": lengths given by the job",
                     "its maker's instructions followed; nothing here checks them"});
    } else if (!end.growth_share && said.insert(end.recipe).second) {
      out.push_back({Caution::growth_share_not_measured, end_path + ".recipe",
                     end.recipe + ": growth share not measured",
                     "its slip readings, or a first piece, turned into a growth_share of the job; until then "
                     "the piece may "
                     "come out long"});
    }
  }
}

void add_bill_cautions(const Job& job, const Plan& plan, const Parts& parts, Cautions& out) {
  for (const RecipeNeed& need : plan.bill.recipes) {
    const std::uint32_t life = parts.recipes.at(need.recipe).die_pair.life_strokes;
    if (need.strokes > life) {
      out.push_back({Caution::die_life, "assemblies",
                     need.die_pair + ": " + std::to_string(need.strokes) + " strokes",
                     "at most its life, " + std::to_string(life) + ", when new"});
    }
  }
  if (!job.destructive_samples) return;
  std::uint32_t lot = 0;
  for (const Assembly& assembly : job.assemblies) lot += assembly.quantity;
  if (job.destructive_samples->per_recipe < samples_usual(lot)) {
    out.push_back({Caution::few_samples, "destructive_samples.per_recipe",
                   std::to_string(job.destructive_samples->per_recipe),
                   std::to_string(samples_usual(lot)) + " for a lot of " + std::to_string(lot) +
                       ", as MIL-DTL-87218E has it"});
  }
  if (job.destructive_samples->free_length_mm < sample_free_length_least_mm) {
    out.push_back({Caution::short_samples, "destructive_samples.free_length",
                   print(job.destructive_samples->free_length_mm, "mm", 1),
                   "at least 10 in (254 mm) or 10 lay lengths, as MIL-DTL-87161F has it"});
  }
}

}  // namespace

std::uint32_t samples_usual(std::uint32_t lot) {
  return lot <= 40 ? 2 : 3;
}

Plan plan_of(const Job& job, const Parts& parts) {
  Plan plan;
  std::vector<double> cut_lengths_mm;
  std::set<std::string> said;
  if (job.assemblies.empty())
    plan.refusals.push_back({Refusal::nothing_to_make, "assemblies", "no assembly", "one or more"});
  for (std::size_t i = 0; i < job.assemblies.size(); ++i) {
    const Assembly& assembly = job.assemblies[i];
    const auto rope = parts.ropes.find(assembly.rope);
    if (rope == parts.ropes.end()) {
      plan.refusals.push_back(
          {Refusal::rope_unknown, path_of(i) + ".rope", assembly.rope, "a rope of the library"});
      continue;
    }
    Refusals refusals = refusals_of(assembly, path_of(i), rope->second, parts.recipes, job.press);
    if (refusals.empty()) {
      AssemblyPlan planned{assembly,
                           account_of(assembly, rope->second, parts.recipes, job.cutting_tolerance_mm),
                           assembly.tension_kn / rope->second.minimum_breaking_force_kn};
      refusals = too_short(assembly, path_of(i), planned.account, parts.recipes);
      add_cautions(planned, path_of(i), said, plan.cautions);
      cut_lengths_mm.push_back(planned.account.cut_length_mm);
      plan.assemblies.push_back(std::move(planned));
    }
    plan.refusals.insert(plan.refusals.end(), refusals.begin(), refusals.end());
  }
  if (!plan.refusals.empty()) {
    plan.assemblies.clear();
    return plan;
  }
  plan.bill = bill_of(job, cut_lengths_mm, parts.ropes, parts.recipes);
  add_bill_cautions(job, plan, parts, plan.cautions);
  return plan;
}

}  // namespace shankwright::planning
