#include "library/load.hpp"

#include <algorithm>
#include <functional>
#include <optional>

#include "library/checks.hpp"
#include "library/kinds.hpp"

namespace shankwright::library {
namespace {

namespace fs = std::filesystem;

/// An id some file claims, whether or not the file is sound.
struct Claim {
  std::string place;
  bool sound = false;
};
using Claims = std::map<std::string, Claim>;

struct RecipeFile {
  explicit RecipeFile(std::string shown) : faults(std::move(shown)) {}
  Loaded<recipe::Recipe> loaded;
  FaultList faults;
};

class Loader {
 public:
  LoadReport load(const fs::path& folder) {
    std::error_code error;
    if (!fs::is_directory(folder, error)) {
      const std::string shown = folder.generic_string();
      report_.faults[shown].push_back(
          {shown, "no such folder",
           "a library folder with ropes, terminals, dies, gauges, presses, recipes"});
      report_.unreadable.insert(shown);
      return std::move(report_);
    }
    Library& lib = report_.library;
    load_kind(folder, FileKind::rope, read_rope, lib.ropes);
    load_kind(folder, FileKind::terminal, read_terminal, lib.terminals);
    load_kind(folder, FileKind::die_pair, read_die_pair, lib.die_pairs);
    load_kind(folder, FileKind::gauge, read_gauge, lib.gauges);
    load_kind(folder, FileKind::press, read_press, lib.presses);
    check_die_tags();
    load_recipes(folder);
    return std::move(report_);
  }

 private:
  static const KindFolder& folder_of(FileKind kind) {
    return *std::find_if(kind_folders.begin(), kind_folders.end(),
                         [kind](const KindFolder& f) { return f.kind == kind; });
  }

  /// The YAML files of one kind, sorted; anything else there is worth a warning, since nobody reads it.
  std::vector<fs::path> files_of(const fs::path& folder, FileKind kind) {
    const fs::path own = folder / folder_of(kind).folder;
    const std::string shown = own.generic_string();
    std::vector<fs::path> out;
    std::error_code error;
    if (!fs::exists(own, error)) {
      report_.warnings[shown].push_back(
          {shown, "no such folder", "a folder of files, each " + std::string(folder_of(kind).called)});
      return out;
    }
    fs::directory_iterator entries(own, error);
    for (; !error && entries != fs::directory_iterator(); entries.increment(error)) {
      const fs::path& file = entries->path();
      if (file.extension() == ".yaml") {
        out.push_back(file);
      } else if (!file.filename().string().starts_with('.')) {
        const std::string name = file.generic_string();
        report_.warnings[name].push_back({name, "a file that is not read", "a name that ends in .yaml"});
      }
    }
    if (error) {
      report_.faults[shown].push_back({shown, error.message(), "a folder that can be read"});
      report_.unreadable.insert(shown);
    }
    std::sort(out.begin(), out.end());
    return out;
  }

  std::optional<Node> read(const fs::path& file, FaultList& faults) {
    const auto text = read_file(file);
    if (!text) {
      report_.faults[faults.file()].push_back(text.problem());
      report_.unreadable.insert(faults.file());
      return std::nullopt;
    }
    report_.files.insert(faults.file());
    return parse_yaml(text.value(), faults);
  }

  void keep(FaultList& faults) {
    for (Problem& problem : faults.take()) report_.faults[faults.file()].push_back(std::move(problem));
  }

  /// Every id has a file of its own name, so that a person finds it; a second file with the same id is
  /// refused.
  void claim(Claims& claims, const std::string& name, const std::string& written, const Places& places,
             FaultList& faults) {
    if (places.all({"id"}) && written != name) {
      faults.add(places.at("id"), written, "\"" + name + "\", as the file's name says");
      const auto other = claims.find(written);
      if (other != claims.end())
        faults.add(places.at("id"), written, "an id of its own; it is taken at " + other->second.place);
      claims.emplace(written, Claim{faults.at(places.at("id")), false});
    }
    claims[name] = Claim{faults.at(places.at("id")), faults.empty()};
  }

  template <typename T, typename Read>
  void load_kind(const fs::path& folder, FileKind kind, Read read_one, std::map<std::string, T>& into) {
    Claims& claims = claims_[kind];
    for (const fs::path& file : files_of(folder, kind)) {
      FaultList faults(file.generic_string());
      const auto root = read(file, faults);
      const std::string name = file.stem().string();
      if (!root) {
        claims[name] = Claim{faults.at({}), false};
        keep(faults);
        continue;
      }
      Loaded<T> loaded = read_one(*root, faults);
      claim(claims, name, loaded.value.id, loaded.places, faults);
      if constexpr (std::is_same_v<T, recipe::DiePair>) {
        if (loaded.places.all({"tag"}))
          die_tags_.emplace(loaded.value.tag, std::pair(faults.file(), faults.at(loaded.places.at("tag"))));
      }
      if (claims[name].sound) into.emplace(loaded.value.id, std::move(loaded.value));
      keep(faults);
    }
  }

  /// The press tells die pairs apart by tag alone, so two pairs with one tag make the check of the mounted
  /// pair void.
  void check_die_tags() {
    for (auto at = die_tags_.begin(); at != die_tags_.end(); ++at) {
      const auto first = die_tags_.find(at->first);
      if (first == at) continue;
      report_.faults[at->second.first].push_back(
          {at->second.second, std::to_string(at->first),
           "a tag of its own; it is taken at " + first->second.second});
      for (auto pair = report_.library.die_pairs.begin(); pair != report_.library.die_pairs.end();) {
        if (pair->second.tag == at->first) {
          claims_[FileKind::die_pair][pair->first].sound = false;
          pair = report_.library.die_pairs.erase(pair);
        } else {
          ++pair;
        }
      }
    }
  }

  template <typename T>
  void look_up(RecipeFile& file, const char* key, FileKind kind, const std::map<std::string, T>& from,
               const std::string& id, T& into) {
    if (!file.loaded.places.all({key})) return;
    const auto found = from.find(id);
    if (found != from.end()) {
      into = found->second;
      return;
    }
    const std::string called(folder_of(kind).called);
    const Claims& claims = claims_[kind];
    const Place place = file.loaded.places.at(key);
    if (claims.contains(id)) {
      file.faults.add(place, id + ", which has faults of its own", called + " without faults");
    } else {
      std::vector<std::string> known;
      for (const auto& [name, claimed] : claims) known.push_back(name);
      const std::string near = nearest(id, known);
      file.faults.add(
          place, id, called + " of this library" + (near.empty() ? "" : "; the nearest is \"" + near + "\""));
    }
    file.loaded.places.good.erase(key);
  }

  void check_joined(RecipeFile& file) {
    recipe::JoinedRecipe joined;
    const Library& lib = report_.library;
    const recipe::Recipe& r = file.loaded.value;
    joined.recipe = r;
    look_up(file, "rope", FileKind::rope, lib.ropes, r.rope, joined.rope);
    look_up(file, "terminal", FileKind::terminal, lib.terminals, r.terminal, joined.terminal);
    look_up(file, "die_pair", FileKind::die_pair, lib.die_pairs, r.die_pair, joined.die_pair);
    look_up(file, "press", FileKind::press, lib.presses, r.press, joined.press);
    look_up(file, "go_gauge", FileKind::gauge, lib.gauges, r.go_gauge, joined.go_gauge);
    look_up(file, "no_go_gauge", FileKind::gauge, lib.gauges, r.no_go_gauge, joined.no_go_gauge);
    if (file.loaded.places.all({"measuring_gauges"})) {
      for (std::size_t i = 0; i < r.measuring_gauges.size(); ++i) {
        const std::string path = "measuring_gauges[" + std::to_string(i) + "]";
        look_up(file, path.c_str(), FileKind::gauge, lib.gauges, r.measuring_gauges[i],
                joined.measuring_gauges.emplace_back());
        if (!file.loaded.places.all({path})) file.loaded.places.good.erase("measuring_gauges");
      }
    }
    FaultList warnings(file.faults.file());
    check_recipe_joined(file.loaded, joined, file.faults, warnings);
    for (Problem& warning : warnings.take())
      report_.warnings[file.faults.file()].push_back(std::move(warning));
  }

  void load_recipes(const fs::path& folder) {
    struct Revision {
      std::uint32_t number = 0;
      std::optional<recipe::Recipe> sound;
      bool draft = false;
    };
    std::map<std::string, std::vector<Revision>> revisions;
    for (const fs::path& path : files_of(folder, FileKind::recipe)) {
      RecipeFile file(path.generic_string());
      Revision revision;
      const std::string stem = path.stem().string();
      const std::size_t dot = stem.rfind(".r");
      const std::string name = stem.substr(0, dot);
      if (const auto root = read(path, file.faults)) {
        file.loaded = read_recipe(*root, file.faults);
        const recipe::Recipe& r = file.loaded.value;
        const Places& places = file.loaded.places;
        if (places.all({"id", "revision"}) && r.id + ".r" + std::to_string(r.revision) != stem) {
          file.faults.add(
              places.at(r.id == name ? "revision" : "id"), r.id + ", revision " + std::to_string(r.revision),
              "id and revision as the file's name says (id.rREVISION.yaml), here \"" + stem + "\"");
        }
        check_joined(file);
        revision.draft = places.all({"status"}) && r.status == recipe::Status::draft;
        revision.number = r.revision;
        if (file.faults.empty()) revision.sound = r;
      }
      if (dot != std::string::npos && dot + 2 < stem.size() && stem.size() - dot - 2 <= 4 &&
          std::all_of(stem.begin() + static_cast<std::ptrdiff_t>(dot) + 2, stem.end(),
                      [](char c) { return c >= '0' && c <= '9'; })) {
        revision.number = static_cast<std::uint32_t>(std::stoul(stem.substr(dot + 2)));
      }
      revisions[name].push_back(std::move(revision));
      keep(file.faults);
    }
    for (auto& [id, all] : revisions) {
      std::sort(all.begin(), all.end(),
                [](const Revision& a, const Revision& b) { return a.number > b.number; });
      const auto binding = std::find_if(all.begin(), all.end(), [](const Revision& r) { return !r.draft; });
      const Revision& chosen = binding == all.end() ? all.front() : *binding;
      if (chosen.sound) report_.library.recipes.emplace(id, *chosen.sound);
      for (const Revision& revision : all)
        if (revision.sound)
          report_.library.revisions.emplace(id + ".r" + std::to_string(revision.number), *revision.sound);
    }
  }

  LoadReport report_;
  std::map<FileKind, Claims> claims_;
  std::multimap<std::uint16_t, std::pair<std::string, std::string>> die_tags_;  ///< tag -> file, place
};

}  // namespace

LoadReport load_report(const fs::path& folder) {
  return Loader().load(folder);
}

}  // namespace shankwright::library
