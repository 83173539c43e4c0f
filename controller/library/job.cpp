#include "library/job.hpp"

#include <tuple>

#include "library/nearest.hpp"

namespace shankwright::library {
namespace {

using planning::EndMaking;

constexpr Named<EndMaking> making_names[] = {{"swaged", EndMaking::swaged},
                                             {"hand_fitted", EndMaking::hand_fitted},
                                             {"made_elsewhere", EndMaking::made_elsewhere}};
constexpr const char* swaged_keys[] = {"recipe", "terminal", "die_pair", "pin_to_bore_end", "growth_share"};
constexpr const char* given_keys[] = {"what", "deduction", "insertion", "uncertainty", "source"};

class JobReader {
 public:
  JobReader(const Node& root, const Library* lib, FaultList& faults, Places& places)
      : root_(root, "", faults, places), lib_(lib), faults_(faults), places_(places) {}

  planning::Job read() {
    job_.id = root_.id("id");
    job_.title = root_.text("title");
    job_.source = root_.text("source");
    if (root_.has("press")) {
      job_.press = root_.id("press");
      if (lib_ != nullptr) known(lib_->presses, "press", *job_.press, "a press");
    } else {
      root_.may_have("press");
    }
    read_cutting();
    read_spares();
    read_samples();
    read_assemblies();
    root_.finish();
    return std::move(job_);
  }

 private:
  template <typename T>
  void known(const std::map<std::string, T>& in, const std::string& path, const std::string& id,
             const char* called) {
    if (!places_.all({path}) || in.contains(id)) return;
    std::vector<std::string> names;
    for (const auto& [name, value] : in) names.push_back(name);
    const std::string near = nearest(id, names);
    faults_.add(places_.at(path), id,
                std::string(called) + " of the library without faults" +
                    (near.empty() ? "" : "; the nearest is \"" + near + "\""));
  }

  void read_cutting() {
    MapReader c = root_.map("cutting");
    job_.cutting_loss_mm = c.quantity("loss", length_mm, {0, 1000});
    job_.cutting_tolerance_mm = c.quantity("tolerance", length_mm, {0.05, 100});
    c.finish();
  }

  void read_spares() {
    if (!root_.has("spares")) return root_.may_have("spares");
    MapReader s = root_.map("spares");
    job_.rope_spare_fraction = s.quantity("rope", percentage, {0, 1});
    job_.terminals_spare = s.whole("terminals", 0, 10'000);
    s.finish();
  }

  void read_samples() {
    if (!root_.has("destructive_samples")) return root_.may_have("destructive_samples");
    MapReader s = root_.map("destructive_samples");
    planning::Samples& samples = job_.destructive_samples.emplace();
    samples.per_recipe = s.whole("per_recipe", 1, 1000);
    samples.free_length_mm = s.quantity("free_length", length_mm, {10, 100e3});
    s.finish();
  }

  void read_assemblies() {
    std::map<std::string, Place> marks;
    for (const auto& item : root_.list("assemblies", 1, "assemblies")) {
      const std::string& path = item.second;
      MapReader row(*item.first, path, faults_, places_);
      planning::Assembly& assembly = job_.assemblies.emplace_back();
      assembly.mark = row.lot_id("mark");
      if (places_.all({path + ".mark"})) {
        const Place place = places_.at(path + ".mark");
        const auto [first, fresh] = marks.emplace(assembly.mark, place);
        if (!fresh)
          faults_.add(place, "\"" + assembly.mark + "\" a second time",
                      "each mark once; it stands first at " + faults_.at(first->second));
      }
      assembly.quantity = row.whole("quantity", 1, 100'000);
      assembly.rope = row.id("rope");
      if (lib_ != nullptr) known(lib_->ropes, path + ".rope", assembly.rope, "a rope");
      assembly.pin_to_pin_mm = row.quantity("pin_to_pin", length_mm, {1, 1e6});
      assembly.tension_kn = row.quantity("tension", force_kn, {0, 2000});
      read_stretch(row, path, assembly);
      assembly.length_tolerance_mm = row.optional_quantity("length_tolerance", length_mm, {0.01, 10e3});
      read_ends(row, assembly);
      row.finish();
    }
  }

  void read_stretch(MapReader& row, const std::string& path, planning::Assembly& assembly) {
    assembly.prestretched = row.yes_no("prestretched");
    assembly.constructional_stretch = row.optional_band("constructional_stretch", percentage, {0, 0.03});
    if (assembly.constructional_stretch && assembly.prestretched &&
        places_.all({path + ".constructional_stretch"})) {
      faults_.add(places_.at(path + ".constructional_stretch"), "a constructional stretch",
                  "none for a rope that is prestretched, or prestretched: false");
    }
  }

  void read_ends(MapReader& row, planning::Assembly& assembly) {
    const auto ends = row.list("ends", 2, "ends");
    if (ends.size() > 2) row.fault("ends", "two ends");
    for (std::size_t i = 0; i < ends.size() && i < 2; ++i) {
      MapReader end(*ends[i].first, ends[i].second, faults_, places_);
      read_end(end, ends[i].second, assembly.ends[i]);
      end.finish();
    }
  }

  void read_end(MapReader& r, const std::string& path, planning::End& end) {
    end.making = r.choice("made", making_names);
    if (!places_.all({path + ".made"})) {
      // Which keys an end has follows from how it is made.
      for (const char* key : swaged_keys) r.may_have(key);
      for (const char* key : given_keys) r.may_have(key);
    } else if (end.making == EndMaking::swaged) {
      read_swaged(r, path, end);
    } else {
      end.what = r.text("what");
      end.deduction_mm = r.quantity("deduction", length_mm, {0, 5000});
      end.insertion_mm = r.quantity("insertion", length_mm, {0, 5000});
      end.uncertainty_mm = r.quantity("uncertainty", length_mm, {0, 500});
      end.source = r.text("source");
    }
  }

  void read_swaged(MapReader& r, const std::string& path, planning::End& end) {
    end.recipe = r.id("recipe");
    if (lib_ != nullptr) known(lib_->recipes, path + ".recipe", end.recipe, "a recipe");
    end.terminal = optional_id(r, "terminal");
    if (lib_ != nullptr && end.terminal)
      known(lib_->terminals, path + ".terminal", *end.terminal, "a terminal");
    end.die_pair = optional_id(r, "die_pair");
    if (lib_ != nullptr && end.die_pair)
      known(lib_->die_pairs, path + ".die_pair", *end.die_pair, "a die pair");
    end.pin_to_bore_end_mm = r.optional_band("pin_to_bore_end", length_mm, {0, 1000});
    if (!r.has("growth_share")) return r.may_have("growth_share");
    MapReader s = r.map("growth_share");
    planning::GrowthShare& share = end.growth_share.emplace();
    share.least = s.quantity("least", percentage, {0, 1});
    share.taken = s.quantity("taken", percentage, {0, 1});
    share.most = s.quantity("most", percentage, {0, 1});
    if (places_.all(
            {path + ".growth_share.least", path + ".growth_share.taken", path + ".growth_share.most"}) &&
        !(share.least <= share.taken && share.taken <= share.most)) {
      s.fault("taken", "no less than \"least\" and no more than \"most\"");
    }
    s.finish();
  }

  static std::optional<std::string> optional_id(MapReader& r, const char* key) {
    if (r.has(key)) return r.id(key);
    r.may_have(key);
    return std::nullopt;
  }

  MapReader root_;
  const Library* lib_;  ///< null: names are not looked up
  FaultList& faults_;
  Places& places_;
  planning::Job job_;
};

}  // namespace

planning::Job read_job(const Node& root, const Library* lib, FaultList& faults, Places& places) {
  return JobReader(root, lib, faults, places).read();
}

JobResult load_job(const std::filesystem::path& file, const Library& lib) {
  JobResult out;
  const auto text = read_file(file);
  if (!text) {
    out.faults.push_back(text.problem());
    out.unreadable = true;
    return out;
  }
  FaultList faults(file.generic_string());
  if (const auto root = parse_yaml(text.value(), faults)) out.job = read_job(*root, &lib, faults, out.places);
  out.faults = faults.take();
  return out;
}

planning::Parts parts_of(const Library& lib) {
  planning::Parts parts;
  parts.ropes = lib.ropes;
  for (const auto& [id, recipe] : lib.recipes) {
    if (auto joined = join(lib, id)) parts.recipes.emplace(id, std::move(joined).value());
  }
  return parts;
}

Place place_in_job(const Places& places, std::string path) {
  while (!path.empty()) {
    if (places.all({path})) return places.at(path);
    bool found = false;
    Place first;
    for (auto at = places.good.lower_bound(path + "."); at != places.good.end(); ++at) {
      if (!at->first.starts_with(path + ".")) break;
      const Place& here = at->second;
      if (!found || std::tie(here.line, here.column) < std::tie(first.line, first.column)) first = here;
      found = true;
    }
    if (found) return first;
    const std::size_t cut = path.find_last_of(".[");
    path.resize(cut == std::string::npos ? 0 : cut);
  }
  return {};
}

}  // namespace shankwright::library
