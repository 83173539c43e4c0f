#include <algorithm>
#include <optional>

#include "library/checks.hpp"
#include "library/job.hpp"
#include "library/kinds.hpp"
#include "library/load.hpp"
#include "library/shop.hpp"

namespace shankwright::library {
namespace {

namespace fs = std::filesystem;

bool is_kind_folder(const std::string& name) {
  return std::any_of(kind_folders.begin(), kind_folders.end(),
                     [&](const KindFolder& f) { return f.folder == name; });
}

bool is_library(const fs::path& folder) {
  std::error_code error;
  const auto held = std::count_if(kind_folders.begin(), kind_folders.end(), [&](const KindFolder& f) {
    return fs::is_directory(folder / f.folder, error);
  });
  return held >= 2;  // a folder that merely happens to hold one called "recipes" is none
}

fs::path parent_of(const fs::path& path) {
  const fs::path parent = path.parent_path();
  return parent.empty() ? fs::path(".") : parent;
}

/// Takes the faults of `report` that are about files for which `wanted` holds.
template <typename Wanted>
void take(const LoadReport& report, Checked& out, Wanted wanted) {
  for (const auto& [file, problems] : report.faults) {
    if (!wanted(file)) continue;
    auto& into = report.unreadable.contains(file) ? out.unreadable : out.faults;
    into.insert(into.end(), problems.begin(), problems.end());
  }
  for (const auto& [file, problems] : report.warnings) {
    if (wanted(file)) out.warnings.insert(out.warnings.end(), problems.begin(), problems.end());
  }
  out.files += static_cast<std::size_t>(std::count_if(report.files.begin(), report.files.end(), wanted));
}

/// Reads a tree as one kind; gives the number of keys at the top that the kind knows.
std::size_t read_as(FileKind kind, const Node& root, FaultList& faults) {
  Places places;
  switch (kind) {
    case FileKind::rope:
      places = read_rope(root, faults).places;
      break;
    case FileKind::terminal:
      places = read_terminal(root, faults).places;
      break;
    case FileKind::die_pair:
      places = read_die_pair(root, faults).places;
      break;
    case FileKind::gauge:
      places = read_gauge(root, faults).places;
      break;
    case FileKind::press:
      places = read_press(root, faults).places;
      break;
    case FileKind::recipe:
      places = read_recipe(root, faults).places;
      break;
    case FileKind::shop:
      (void)read_shop(root, nullptr, faults, places);
      break;
    case FileKind::job:
      (void)read_job(root, nullptr, faults, places);
      break;
  }
  return static_cast<std::size_t>(
      std::count_if(root.entries.begin(), root.entries.end(),
                    [&](const auto& entry) { return places.asked.contains(entry.first.text); }));
}

void check_alone(const fs::path& file, Checked& out) {
  const auto text = read_file(file);
  if (!text) {
    out.unreadable.push_back(text.problem());
    return;
  }
  ++out.files;
  FaultList faults(file.generic_string());
  const auto root = parse_yaml(text.value(), faults);
  if (root) {
    auto best = FileKind::recipe;
    std::size_t best_keys = 0;
    for (const FileKind kind : {FileKind::recipe, FileKind::shop, FileKind::job, FileKind::terminal,
                                FileKind::rope, FileKind::die_pair, FileKind::press, FileKind::gauge}) {
      FaultList unused(faults.file());
      const std::size_t keys = read_as(kind, *root, unused);
      if (keys > best_keys) {
        best = kind;
        best_keys = keys;
      }
    }
    (void)read_as(best, *root, faults);
    if (best == FileKind::recipe || best == FileKind::shop || best == FileKind::job) {
      out.warnings.push_back({faults.file(), "no library around this file",
                              "a library folder around it; what it names was not looked up"});
    }
  }
  for (Problem& problem : faults.take()) out.faults.push_back(std::move(problem));
}

void check_path(const fs::path& given, Checked& out) {
  // "recipes/" and "." have no name of their own to go by.
  fs::path path = given.has_filename() ? given : given.parent_path();
  if (path.empty()) path = given;
  std::error_code error;
  const bool folder = fs::is_directory(path, error);
  if (folder && is_library(path)) {
    take(load_report(path), out, [](const std::string&) { return true; });
    return;
  }
  const fs::path own = folder ? path : parent_of(path);
  const fs::path around = fs::absolute(own, error).lexically_normal();
  const std::string own_name =
      (around.has_filename() ? around.filename() : around.parent_path().filename()).string();
  const fs::path root = own_name == own.filename().string() ? parent_of(own) : own / "..";
  if (is_kind_folder(own_name) && is_library(root)) {
    const LoadReport report = load_report(root);
    const fs::path inside = root / own_name;
    const std::string wanted = (folder ? inside : inside / path.filename()).generic_string();
    const std::size_t before = out.files;
    take(report, out, [&](const std::string& file) {
      return folder ? file == wanted || file.starts_with(wanted + "/") : file == wanted;
    });
    if (folder || out.files > before || report.unreadable.contains(wanted)) return;
  }
  if (!folder) {
    check_alone(path, out);
    return;
  }
  out.unreadable.push_back(
      {path.generic_string(), "a folder that is no library and in none",
       "a library folder with ropes, terminals, dies, gauges, presses, recipes, or files by name"});
}

}  // namespace

Checked check_paths(const std::vector<fs::path>& paths) {
  Checked out;
  for (const fs::path& path : paths) check_path(path, out);
  return out;
}

std::vector<Problem> check(const std::vector<fs::path>& paths, std::vector<Problem>* warnings) {
  Checked checked = check_paths(paths);
  if (warnings != nullptr) *warnings = std::move(checked.warnings);
  std::vector<Problem> out = std::move(checked.unreadable);
  out.insert(out.end(), checked.faults.begin(), checked.faults.end());
  return out;
}

}  // namespace shankwright::library
