#include "planning/compatibility.hpp"

#include <algorithm>
#include <cmath>

#include "quantity/quantity.hpp"
#include "recipe/bite_plan.hpp"

namespace shankwright::planning {
namespace {

using quantity::print;

std::string mm(double value) {
  return print(value, "mm", 2);
}
std::string kn(double value) {
  return print(value, "kN", 2);
}
std::string percent(double share) {
  return print(100 * share, "%", 1);
}

std::string_view construction(recipe::Construction value) {
  switch (value) {
    case recipe::Construction::strand_1x19:
      return "1x19";
    case recipe::Construction::rope_7x7:
      return "7x7";
    case recipe::Construction::rope_7x19:
      return "7x19";
  }
  return "";
}

std::string_view status(recipe::Status value) {
  switch (value) {
    case recipe::Status::draft:
      return "draft";
    case recipe::Status::released:
      return "released";
    case recipe::Status::withdrawn:
      return "withdrawn";
  }
  return "";
}

class EndChecker {
 public:
  EndChecker(const End& end, std::string path, const std::string& assembly_path, const recipe::Rope& rope,
             const recipe::JoinedRecipe& joined, Refusals& out)
      : end_(end),
        path_(std::move(path)),
        assembly_path_(assembly_path),
        rope_(rope),
        joined_(joined),
        out_(out) {}

  void check(const std::optional<std::string>& press) {
    check_recipe();
    check_rope();
    check_named_parts(press);
    check_forces();
    check_geometry();
  }

 private:
  void refuse(Refusal code, const std::string& key, std::string found, std::string expected) {
    out_.push_back({code, path_ + "." + key, std::move(found), std::move(expected)});
  }

  void check_recipe() {
    const recipe::Recipe& r = joined_.recipe;
    if (r.status == recipe::Status::released) return;
    refuse(Refusal::recipe_not_released, "recipe",
           r.id + " revision " + std::to_string(r.revision) + ", " + std::string(status(r.status)),
           "a released recipe: a competent person releases it after trial pieces");
  }

  void check_rope() {
    const recipe::Recipe& r = joined_.recipe;
    if (rope_.id != r.rope) {
      out_.push_back({Refusal::rope_not_the_recipes, assembly_path_ + ".rope", rope_.id,
                      r.rope + ", the rope of " + r.id + ", or a recipe for this rope"});
    }
    if (rope_.construction != joined_.rope.construction) {
      out_.push_back({Refusal::construction_not_the_recipes, assembly_path_ + ".rope",
                      rope_.id + ", " + std::string(construction(rope_.construction)),
                      std::string(construction(joined_.rope.construction)) + ", as " + r.id +
                          " is made for: force and growth depend on it"});
    }
    const recipe::Terminal& t = joined_.terminal;
    if (rope_.diameter_mm.most > t.bore_diameter_mm) {
      out_.push_back({Refusal::rope_too_thick_for_bore, assembly_path_ + ".rope",
                      rope_.id + ", up to " + mm(rope_.diameter_mm.most),
                      "a rope that enters the bore of " + t.id + ", " + mm(t.bore_diameter_mm)});
    }
  }

  void check_named_parts(const std::optional<std::string>& press) {
    const recipe::Recipe& r = joined_.recipe;
    if (end_.terminal && *end_.terminal != r.terminal) {
      refuse(Refusal::terminal_not_the_recipes, "terminal", *end_.terminal,
             r.terminal + ", the terminal of " + r.id + ": the station admits no other");
    }
    if (end_.die_pair && *end_.die_pair != r.die_pair) {
      refuse(Refusal::die_pair_not_the_recipes, "die_pair", *end_.die_pair,
             r.die_pair + ", the die pair of " + r.id + ": the station admits no other");
    }
    if (press && *press != r.press) {
      refuse(Refusal::press_not_the_recipes, "recipe", r.id + ", made for " + r.press,
             "a recipe for " + *press + ", the job's press");
    }
  }

  void check_forces() {
    const recipe::Recipe& r = joined_.recipe;
    const recipe::Press& p = joined_.press;
    const double highest_kn = std::max(r.target_force_kn, r.force_limit_kn);
    const double pressure_kn = p.pressure_max_bar * p.ram_area_mm2 / 1e4;  // 1 bar = 0.1 N/mm2
    const std::string found = r.id + ", up to " + kn(highest_kn);
    if (highest_kn > p.capacity_kn) {
      refuse(Refusal::force_over_press_capacity, "recipe", found,
             "no more than the capacity of " + p.id + ", " + kn(p.capacity_kn));
    }
    if (highest_kn > pressure_kn) {
      refuse(Refusal::force_over_press_pressure, "recipe", found,
             "no more than " + p.id + " gives at its greatest pressure, " + kn(pressure_kn));
    }
    if (highest_kn > joined_.die_pair.rated_force_kn) {
      refuse(Refusal::force_over_die_rating, "recipe", found,
             "no more than the rated force of " + joined_.die_pair.id + ", " +
                 kn(joined_.die_pair.rated_force_kn));
    }
  }

  void check_geometry() {
    const recipe::Terminal& t = joined_.terminal;
    const recipe::DiePair& d = joined_.die_pair;
    if (d.across_flats_mm >= t.shank_diameter_mm.least) {
      refuse(Refusal::die_pair_wider_than_shank, "recipe", d.id + ", " + mm(d.across_flats_mm),
             "a die pair narrower than the shank of " + t.id + ", " + mm(t.shank_diameter_mm.least));
    }
    if (recipe::bite_plan(joined_, 0).empty() ||
        recipe::bite_plan(joined_, joined_.recipe.growth_fraction.most).empty()) {
      refuse(Refusal::no_bite_plan, "recipe", joined_.recipe.id,
             "a recipe whose bites cover the swage length of " + t.id);
    }
    if (!end_.pin_to_bore_end_mm && !t.pin_to_bore_end_mm) {
      refuse(Refusal::pin_distance_missing, "recipe", t.id + " without pin_to_bore_end",
             "pin_to_bore_end in the terminal's file or at this end of the job");
    }
  }

  const End& end_;
  std::string path_;
  const std::string& assembly_path_;
  const recipe::Rope& rope_;
  const recipe::JoinedRecipe& joined_;
  Refusals& out_;
};

}  // namespace

double die_reach_past_mouth_mm(const recipe::JoinedRecipe& joined) {
  double reach = 0;
  for (const double growth : {0.0, joined.recipe.growth_fraction.most}) {
    const auto plan = recipe::bite_plan(joined, growth);
    if (plan.empty()) continue;
    // The shallowest bore has its mouth nearest; what the plan reckons as growth is not relied on.
    reach =
        std::max(reach, plan.back().accepted_mm.most + joined.die_pair.length_mm -
                            joined.terminal.bore_depth_mm.least - growth * joined.terminal.swage_length_mm);
  }
  return reach;
}

Refusals refusals_of(const Assembly& assembly, const std::string& path, const recipe::Rope& rope,
                     const Recipes& recipes, const std::optional<std::string>& press) {
  Refusals out;
  if (assembly.quantity == 0) out.push_back({Refusal::nothing_to_make, path + ".quantity", "0", "1 or more"});
  const double share = assembly.tension_kn / rope.minimum_breaking_force_kn;
  if (share > tension_share_most) {
    out.push_back(
        {Refusal::tension_too_high, path + ".tension",
         kn(assembly.tension_kn) + ", " + percent(share) + " of the minimum breaking force of " + rope.id,
         "at most " + percent(tension_share_most) + ", " +
             kn(tension_share_most * rope.minimum_breaking_force_kn) + ": the lesser proof load"});
  }
  for (std::size_t i = 0; i < assembly.ends.size(); ++i) {
    const End& end = assembly.ends[i];
    if (end.making != EndMaking::swaged) continue;
    const std::string end_path = path + ".ends[" + std::to_string(i) + "]";
    const auto joined = recipes.find(end.recipe);
    if (joined == recipes.end()) {
      out.push_back({Refusal::recipe_unknown, end_path + ".recipe", end.recipe, "a recipe of the library"});
      continue;
    }
    EndChecker(end, end_path, path, rope, joined->second, out).check(press);
  }
  return out;
}

Refusals too_short(const Assembly& assembly, const std::string& path, const Account& account,
                   const Recipes& recipes) {
  const double free_mm = account.free_rope_at_rest_mm;
  const std::string found = mm(assembly.pin_to_pin_mm) + ", which leaves " + mm(std::max(0.0, free_mm)) +
                            " of rope between the mouths";
  if (free_mm <= 0) {
    const double ends_mm = assembly.pin_to_pin_mm - account.free_rope_under_tension_mm;
    return {{Refusal::too_short, path + ".pin_to_pin", found,
             "more than both ends take up by themselves, " + mm(ends_mm)}};
  }
  double reach_mm = 0;
  for (const End& end : assembly.ends) {
    if (end.making == EndMaking::swaged)
      reach_mm = std::max(reach_mm, die_reach_past_mouth_mm(recipes.at(end.recipe)));
  }
  if (free_mm > reach_mm) return {};
  return {{Refusal::too_short_for_the_dies, path + ".pin_to_pin", found,
           "more than the dies reach past the mouth in the last bite, " + mm(reach_mm) +
               ": they would close on the other end"}};
}

std::string_view name_of(Refusal code) {
  switch (code) {
    case Refusal::rope_unknown:
      return "rope_unknown";
    case Refusal::recipe_unknown:
      return "recipe_unknown";
    case Refusal::recipe_not_released:
      return "recipe_not_released";
    case Refusal::rope_not_the_recipes:
      return "rope_not_the_recipes";
    case Refusal::construction_not_the_recipes:
      return "construction_not_the_recipes";
    case Refusal::rope_too_thick_for_bore:
      return "rope_too_thick_for_bore";
    case Refusal::terminal_not_the_recipes:
      return "terminal_not_the_recipes";
    case Refusal::die_pair_not_the_recipes:
      return "die_pair_not_the_recipes";
    case Refusal::die_pair_wider_than_shank:
      return "die_pair_wider_than_shank";
    case Refusal::press_not_the_recipes:
      return "press_not_the_recipes";
    case Refusal::force_over_press_capacity:
      return "force_over_press_capacity";
    case Refusal::force_over_press_pressure:
      return "force_over_press_pressure";
    case Refusal::force_over_die_rating:
      return "force_over_die_rating";
    case Refusal::no_bite_plan:
      return "no_bite_plan";
    case Refusal::pin_distance_missing:
      return "pin_distance_missing";
    case Refusal::tension_too_high:
      return "tension_too_high";
    case Refusal::too_short:
      return "too_short";
    case Refusal::too_short_for_the_dies:
      return "too_short_for_the_dies";
    case Refusal::nothing_to_make:
      return "nothing_to_make";
  }
  return "";
}

std::string_view name_of(Caution code) {
  switch (code) {
    case Caution::tension_above_working_share:
      return "tension_above_working_share";
    case Caution::length_tolerance_too_tight:
      return "length_tolerance_too_tight";
    case Caution::growth_share_not_measured:
      return "growth_share_not_measured";
    case Caution::die_life:
      return "die_life";
    case Caution::few_samples:
      return "few_samples";
    case Caution::short_samples:
      return "short_samples";
    case Caution::end_given_by_job:
      return "end_given_by_job";
  }
  return "";
}

}  // namespace shankwright::planning
