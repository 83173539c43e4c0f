#include "library/shop.hpp"

#include <algorithm>
#include <set>

namespace shankwright::library {
namespace {

enum class Role { operator_role, technician_role, planner_role, reviewer_role };
constexpr Named<Role> role_names[] = {{"operator", Role::operator_role},
                                      {"technician", Role::technician_role},
                                      {"planner", Role::planner_role},
                                      {"reviewer", Role::reviewer_role}};

class ShopReader {
 public:
  ShopReader(const Node& root, const Library* lib, FaultList& faults, Places& places)
      : root_(root, "", faults, places),
        lib_(lib),
        named_in_(lib != nullptr ? *lib : nothing()),
        faults_(faults),
        places_(places) {}

  Shop read() {
    shop_.name = root_.text("name");
    read_people();
    read_lots("rope_lots", "rope", shop_.rope_lots);
    read_lots("terminal_lots", "terminal", shop_.terminal_lots);
    read_gauges();
    read_die_pairs();
    read_presses();
    root_.finish();
    return std::move(shop_);
  }

 private:
  /// Runs `read_row` on each item of a list; a row that came through without fault, under an id not seen
  /// before, is given to `keep`.
  template <typename Row>
  void rows(const char* key, const char* of_what, Row read_row) {
    std::map<std::string, Place> seen;
    for (const auto& item : root_.list(key, 0, of_what)) {
      const Node& node = *item.first;
      const std::string& path = item.second;
      MapReader row(node, path, faults_, places_);
      read_row(row, path, [&](const std::string& id) {
        if (!places_.all({path + ".id"})) return false;
        const Place place = places_.at(path + ".id");
        const auto [first, fresh] = seen.emplace(id, place);
        if (!fresh)
          faults_.add(place, "\"" + id + "\" a second time",
                      "each id once; it stands first at " + faults_.at(first->second));
        return fresh;
      });
    }
  }

  template <typename T>
  bool known(const std::map<std::string, T>& in, const std::string& path, const std::string& id,
             const char* called) {
    if (!places_.all({path})) return false;
    if (lib_ == nullptr || in.contains(id)) return true;
    std::vector<std::string> names;
    for (const auto& [name, value] : in) names.push_back(name);
    const std::string near = nearest(id, names);
    faults_.add(places_.at(path), id,
                std::string(called) + " of the library without faults" +
                    (near.empty() ? "" : "; the nearest is \"" + near + "\""));
    return false;
  }

  void read_roles(MapReader& row, const std::string& path, Person& person) {
    std::set<std::string> seen;
    std::size_t i = 0;
    for (const std::string& role : row.id_list("roles", 1)) {
      const std::string item = path + ".roles[" + std::to_string(i++) + "]";
      std::vector<std::string> names;
      bool found = false;
      for (const auto& name : role_names) {
        names.emplace_back(name.name);
        if (name.name != role) continue;
        found = true;
        person.operator_role |= name.value == Role::operator_role;
        person.technician_role |= name.value == Role::technician_role;
        person.planner_role |= name.value == Role::planner_role;
        person.reviewer_role |= name.value == Role::reviewer_role;
      }
      if (!found) {
        faults_.add(places_.at(item), role, one_of(role, names));
        places_.good.erase(path + ".roles");
      }
    }
  }

  void read_people() {
    // A family no recipe has qualifies for nothing. Judged only when every recipe could be read.
    std::vector<std::string> families;
    if (lib_ != nullptr && lib_->faults.empty()) {
      for (const auto& [id, recipe] : lib_->recipes) families.push_back(recipe.family);
    }
    // Only whoever is to be enrolled at the next start: from then on the record says who there is.
    if (!root_.has("people")) return root_.may_have("people");
    rows("people", "people", [&](MapReader& row, const std::string& path, auto fresh) {
      Person person;
      person.id = row.id("id");
      person.name = row.text("name");
      read_roles(row, path, person);
      person.qualified_until_day = row.days_by_id("qualified");
      row.finish();
      for (const auto& [family, day] : person.qualified_until_day) {
        if (families.empty() || std::find(families.begin(), families.end(), family) != families.end())
          continue;
        faults_.add(places_.at(path + ".qualified." + family), family,
                    "a family of some recipe: " + one_of(family, unique(families)));
      }
      if (fresh(person.id) && places_.all({path + ".name", path + ".roles", path + ".qualified"}))
        shop_.people[person.id] = person;
    });
  }

  static std::vector<std::string> unique(const std::vector<std::string>& all) {
    const std::set<std::string> set(all.begin(), all.end());
    return {set.begin(), set.end()};
  }

  void read_lots(const char* key, const char* of, std::map<std::string, Lot>& into) {
    rows(key, "lots", [&](MapReader& row, const std::string& path, auto fresh) {
      Lot lot;
      lot.id = row.lot_id("id");
      lot.of = row.id(of);
      lot.quarantined = row.yes_no("quarantined");
      lot.certificate = row.text("certificate");
      row.finish();
      const std::string of_path = path + "." + of;
      const bool named = std::string_view(of) == "rope"
                             ? known(named_in_.ropes, of_path, lot.of, "a rope")
                             : known(named_in_.terminals, of_path, lot.of, "a terminal");
      if (fresh(lot.id) && named && places_.all({path + ".quarantined", path + ".certificate"}))
        into[lot.id] = lot;
    });
  }

  void read_gauges() {
    rows("gauges", "gauges", [&](MapReader& row, const std::string& path, auto fresh) {
      const std::string id = row.id("id");
      const std::int64_t due = row.day("calibration_due");
      row.finish();
      const bool named = known(named_in_.gauges, path + ".id", id, "a gauge");
      if (fresh(id) && named && places_.all({path + ".calibration_due"}))
        shop_.gauge_calibration_due_day[id] = due;
    });
  }

  void read_die_pairs() {
    rows("die_pairs", "die pairs", [&](MapReader& row, const std::string& path, auto fresh) {
      const std::string id = row.id("id");
      DiePairCare care;
      care.serial = row.lot_id("serial");
      care.inspection_due_day = row.day("inspection_due");
      care.strokes_at_register = row.whole("strokes", 0, 100'000'000);
      row.finish();
      const bool named = known(named_in_.die_pairs, path + ".id", id, "a die pair");
      if (fresh(id) && named && places_.all({path + ".serial", path + ".inspection_due", path + ".strokes"}))
        shop_.die_pairs[id] = care;
    });
  }

  void read_presses() {
    rows("presses", "presses", [&](MapReader& row, const std::string& path, auto fresh) {
      const std::string id = row.id("id");
      const std::int64_t due = row.day("calibration_due");
      row.finish();
      const bool named = known(named_in_.presses, path + ".id", id, "a press");
      if (fresh(id) && named && places_.all({path + ".calibration_due"}))
        shop_.press_calibration_due_day[id] = due;
    });
  }

  MapReader root_;
  static const Library& nothing() {
    static const Library empty;
    return empty;
  }

  const Library* lib_;       ///< null: names are not looked up
  const Library& named_in_;  ///< the same, or an empty one
  FaultList& faults_;
  Places& places_;
  Shop shop_;
};

}  // namespace

Shop read_shop(const Node& root, const Library* lib, FaultList& faults, Places& places) {
  return ShopReader(root, lib, faults, places).read();
}

ShopResult load_shop(const std::filesystem::path& file, const Library& lib) {
  ShopResult out;
  const auto text = read_file(file);
  if (!text) {
    out.faults.push_back(text.problem());
    return out;
  }
  FaultList faults(file.generic_string());
  if (const auto root = parse_yaml(text.value(), faults)) {
    Places places;
    out.shop = read_shop(*root, &lib, faults, places);
  }
  out.faults = faults.take();
  return out;
}

}  // namespace shankwright::library
