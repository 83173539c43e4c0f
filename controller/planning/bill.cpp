#include "planning/bill.hpp"

#include <algorithm>

#include "recipe/bite_plan.hpp"
#include "recipe/rope.hpp"

namespace shankwright::planning {
namespace {

/// The entry whose `field` is `id`, made at the end of the list where there is none: parts in the job's
/// order.
template <typename T>
T& entry(std::vector<T>& list, std::string T::*field, const std::string& id) {
  const auto found = std::find_if(list.begin(), list.end(), [&](const T& item) { return item.*field == id; });
  if (found != list.end()) return *found;
  T fresh;
  fresh.*field = id;
  return list.emplace_back(std::move(fresh));
}

RecipeNeed need_of(const recipe::JoinedRecipe& joined) {
  const recipe::Recipe& r = joined.recipe;
  RecipeNeed need;
  need.recipe = r.id;
  need.revision = r.revision;
  need.terminal = r.terminal;
  need.die_pair = r.die_pair;
  need.die_tag = joined.die_pair.tag;
  need.press = r.press;
  need.go_gauge = r.go_gauge;
  need.no_go_gauge = r.no_go_gauge;
  need.measuring_gauges = r.measuring_gauges;
  need.target_force_kn = r.target_force_kn;
  for (int pass = 0; pass < r.passes; ++pass) {
    // The first pass finds the shank as it came, the later ones grown: planned for the most it may have
    // grown.
    const auto plan = recipe::bite_plan(joined, pass == 0 ? 0.0 : r.growth_fraction.most);
    need.bites_by_pass.push_back(static_cast<std::uint32_t>(plan.size()));
  }
  return need;
}

class BillWriter {
 public:
  BillWriter(const Job& job, const std::map<std::string, recipe::Rope>& ropes, const Recipes& recipes)
      : job_(job), ropes_(ropes), recipes_(recipes) {}

  Bill write(const std::vector<double>& cut_lengths_mm) {
    for (std::size_t i = 0; i < job_.assemblies.size(); ++i)
      add_assembly(job_.assemblies[i], cut_lengths_mm.at(i));
    if (job_.destructive_samples) {
      // By index: adding samples adds no recipe.
      for (std::size_t i = 0; i < out_.recipes.size(); ++i)
        add_samples(out_.recipes[i], growth_shares_.at(i));
    }
    for (RopeNeed& need : out_.ropes) total(need);
    for (TerminalNeed& need : out_.terminals) {
      need.spare = job_.terminals_spare;
      need.total = need.assemblies + need.samples + need.spare;
    }
    for (RecipeNeed& need : out_.recipes) {
      std::uint32_t bites = 0;
      for (const std::uint32_t pass : need.bites_by_pass) bites += pass;
      need.strokes = bites * need.fittings;
    }
    return std::move(out_);
  }

 private:
  void add_assembly(const Assembly& assembly, double cut_length_mm) {
    entry(out_.ropes, &RopeNeed::rope, assembly.rope)
        .pieces.push_back({assembly.mark, cut_length_mm, assembly.quantity});
    for (const End& end : assembly.ends) {
      if (end.making != EndMaking::swaged) {
        OtherEndNeed& need = entry(out_.other_ends, &OtherEndNeed::what, end.what);
        need.making = end.making;
        need.count += assembly.quantity;
        continue;
      }
      const recipe::JoinedRecipe& joined = recipes_.at(end.recipe);
      TerminalNeed& terminal = entry(out_.terminals, &TerminalNeed::terminal, joined.recipe.terminal);
      terminal.end = joined.terminal.end;
      terminal.assemblies += assembly.quantity;
      const bool known = std::any_of(out_.recipes.begin(), out_.recipes.end(),
                                     [&](const RecipeNeed& need) { return need.recipe == end.recipe; });
      if (!known) {
        out_.recipes.push_back(need_of(joined));
        growth_shares_.push_back(end.growth_share.value_or(default_growth_share(joined)));
      }
      entry(out_.recipes, &RecipeNeed::recipe, end.recipe).fittings += assembly.quantity;
    }
  }

  void add_samples(RecipeNeed& need, const GrowthShare& share) {
    const Samples& samples = *job_.destructive_samples;
    const recipe::JoinedRecipe& joined = recipes_.at(need.recipe);
    entry(out_.ropes, &RopeNeed::rope, joined.recipe.rope)
        .pieces.push_back({"sample of " + need.recipe,
                           sample_cut_length_mm(joined, samples.free_length_mm, share), samples.per_recipe});
    entry(out_.terminals, &TerminalNeed::terminal, need.terminal).samples += 2 * samples.per_recipe;
    need.fittings += 2 * samples.per_recipe;
  }

  void total(RopeNeed& need) const {
    for (const Piece& piece : need.pieces) {
      need.pieces_mm += piece.length_mm * piece.count;
      need.cutting_loss_mm += job_.cutting_loss_mm * piece.count;
    }
    need.spare_mm = job_.rope_spare_fraction * (need.pieces_mm + need.cutting_loss_mm);
    need.total_mm = need.pieces_mm + need.cutting_loss_mm + need.spare_mm;
    const recipe::Rope& rope = ropes_.at(need.rope);
    if (rope.mass_factor)
      need.mass_kg =
          recipe::mass_kg_per_m(rope.nominal_diameter_mm, *rope.mass_factor) * need.total_mm / 1000;
  }

  const Job& job_;
  const std::map<std::string, recipe::Rope>& ropes_;
  const Recipes& recipes_;
  std::vector<GrowthShare> growth_shares_;  ///< by position in out_.recipes
  Bill out_;
};

}  // namespace

Bill bill_of(const Job& job, const std::vector<double>& cut_lengths_mm,
             const std::map<std::string, recipe::Rope>& ropes, const Recipes& recipes) {
  return BillWriter(job, ropes, recipes).write(cut_lengths_mm);
}

}  // namespace shankwright::planning
