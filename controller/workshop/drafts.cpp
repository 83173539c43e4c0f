#include "workshop/drafts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "library/recipe_text.hpp"
#include "trial/draft.hpp"

namespace shankwright::workshop {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

/// Leaves of a tree by dotted path.
void flatten(const json& node, const std::string& path, std::map<std::string, std::string>& into) {
  if (node.is_object() || node.is_array()) {
    for (const auto& [key, value] : node.items()) flatten(value, path.empty() ? key : path + "." + key, into);
    return;
  }
  into[path] = node.is_string() ? node.get<std::string>() : node.dump();
}

std::map<std::string, std::string> leaves_of(const recipe::JoinedRecipe& joined) {
  std::map<std::string, std::string> out;
  flatten(json::parse(library::to_json(joined)).at("recipe"), "", out);
  return out;
}

/// Where the revision of "ID.r7.yaml" is found.
std::optional<std::uint32_t> revision_in(const std::string& file, const std::string& recipe) {
  const std::string head = recipe + ".r", tail = ".yaml";
  if (!file.starts_with(head) || !file.ends_with(tail) || file.size() <= head.size() + tail.size())
    return std::nullopt;
  std::uint32_t number = 0;
  const char* const end = file.data() + file.size() - tail.size();
  const auto [stop, error] = std::from_chars(file.data() + head.size(), end, number);
  return error == std::errc{} && stop == end ? std::optional(number) : std::nullopt;
}

/// The same number, however it was rounded on its way through a text ("0.305 in" is 7.7469999... mm).
bool same(const std::string& was, const std::string& becomes) {
  if (was == becomes) return true;
  const auto number = [](const std::string& text) -> std::optional<double> {
    double value = 0;
    const char* const end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, value);
    return error == std::errc{} && stop == end ? std::optional(value) : std::nullopt;
  };
  const auto a = number(was), b = number(becomes);
  return a && b && std::abs(*a - *b) <= 1e-9 * std::max(std::abs(*a), std::abs(*b));
}

Problem no_such(const std::string& id) {
  return {"draft", id, "a draft that waits"};
}

/// A new file only, on the disk when this returns.
std::optional<Problem> write_new(const fs::path& file, const std::string& text) {
  std::FILE* const out = std::fopen(file.c_str(), "wxb");
  if (out == nullptr)
    return Problem{
        "file",
        file.filename().string() + ": " + (errno == EEXIST ? "it is there already" : std::strerror(errno)),
        "a file that can be made; nothing is written over"};
  const bool whole = std::fwrite(text.data(), 1, text.size(), out) == text.size() && std::fflush(out) == 0;
  const bool closed = std::fclose(out) == 0;
  if (whole && closed) return std::nullopt;
  std::error_code error;
  fs::remove(file, error);
  return Problem{"file", file.filename().string() + ", which could not be written whole", "room on the disk"};
}

bool holds(const fs::path& file, const std::string& text) {
  std::ifstream in(file, std::ios::binary);
  std::stringstream found;
  if (in) found << in.rdbuf();
  return in && found.str() == text;
}

}  // namespace

const char* name_of(Draft::Now now) {
  switch (now) {
    case Draft::Now::waiting:
      return "waiting";
    case Draft::Now::released:
      return "released";
    case Draft::Now::dropped:
      break;
  }
  return "dropped";
}

std::optional<Problem> Drafts::catch_up() const {
  const auto entries = record_.entries_of_kind(recipe_kind, read_to_);
  if (!entries) return entries.problem();
  for (const auto& stored : entries.value()) {
    const json body = json::parse(stored.entry.body_json, nullptr, false);
    if (!body.is_object() || !body.contains("draft"))
      return Problem{"record", "an entry about a recipe that cannot be read", "JSON"};
    if (stored.entry.event == "recipe_drafted") {
      Draft draft;
      draft.id = body.value("draft", "");
      draft.recipe = body.value("recipe", "");
      draft.revision = body.value("revision", 0U);
      draft.text = body.value("text", "");
      draft.made_by = stored.entry.actor;
      draft.made_utc_us = stored.entry.at_utc_us;
      const json trial = body.value("trial", json::object());
      draft.seed = trial.value("seed", std::uint64_t{0});
      draft.fittings = trial.value("fittings", std::size_t{0});
      draft.target_kn = trial.value("recommended_kn", 0.);
      draft.rejected_share = trial.value("rejected_share", 0.);
      drafts_.push_back(std::move(draft));
    } else {
      const std::string id = body.value("draft", "");
      for (Draft& draft : drafts_) {
        if (draft.id != id) continue;
        draft.now = stored.entry.event == "recipe_released" ? Draft::Now::released : Draft::Now::dropped;
        draft.ended_by = stored.entry.actor;
        draft.ended_utc_us = stored.entry.at_utc_us;
        draft.reason = body.value("reason", "");
      }
    }
    read_to_ = stored.sequence;
  }
  return std::nullopt;
}

Result<std::vector<Draft>> Drafts::all() const {
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  return drafts_;
}

DraftLook Drafts::look(const Draft& draft) const {
  DraftLook out;
  const auto checked = library::check_recipe_text(draft.text, draft.id + ".yaml", library_);
  out.faults = checked.faults;
  out.warnings = checked.warnings;
  const auto released = library::join(library_, draft.recipe);
  if (!released || !checked.joined) return out;
  out.against_revision = released.value().recipe.revision;
  const auto was = leaves_of(released.value()), becomes = leaves_of(*checked.joined);
  std::map<std::string, Change> changes;
  for (const auto& [path, value] : was) changes[path] = {path, value, ""};
  for (const auto& [path, value] : becomes) {
    changes[path].what = path;
    changes[path].becomes = value;
  }
  for (auto& [path, change] : changes)
    if (!same(change.was, change.becomes) && path != "revision" && path != "status")
      out.changes.push_back(std::move(change));
  return out;
}

std::uint32_t Drafts::next_revision(const std::string& recipe) const {
  std::uint32_t newest = 0;
  for (const auto& [name, revision] : library_.revisions)
    if (revision.id == recipe) newest = std::max(newest, revision.revision);
  std::error_code error;
  for (fs::directory_iterator at(folder_ / "recipes", error), end; !error && at != end; at.increment(error))
    if (const auto found = revision_in(at->path().filename().string(), recipe))
      newest = std::max(newest, *found);
  for (const Draft& draft : drafts_)
    if (draft.recipe == recipe) newest = std::max(newest, draft.revision);
  return newest + 1;
}

Result<std::int64_t> Drafts::append(const char* event, std::string body, const std::string& by) {
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.kind = recipe_kind;
  entry.event = event;
  entry.actor = by;
  entry.body_json = std::move(body);
  return record_.append({entry});
}

Result<Draft> Drafts::waiting(const std::string& id) const {
  if (auto problem = catch_up()) return *problem;
  for (const Draft& draft : drafts_)
    if (draft.id == id && draft.now == Draft::Now::waiting) return draft;
  return no_such(id);
}

Result<Draft> Drafts::make(const trial::Report& report, const std::string& by) {
  if (report.window.empty || !report.recommended)
    return Problem{"trial", "no force that does", "a trial whose window is not empty"};
  const std::lock_guard lock(mutex_);
  if (auto problem = catch_up()) return *problem;
  const std::string& recipe = report.joined.recipe.id;
  const std::uint32_t revision = next_revision(recipe);
  const auto& row = *report.recommended;
  const json body = {
      {"draft", fmt::format("{}.r{}", recipe, revision)},
      {"recipe", recipe},
      {"revision", revision},
      {"text", trial::to_yaml(trial::draft_of(report, revision))},
      {"trial",
       {{"of_revision", report.joined.recipe.revision},
        {"seed", report.seed},
        {"fittings", report.fittings},
        {"recommended_kn", report.window.recommended_kn},
        {"rejected_share",
         row.fittings == 0 ? 1. : static_cast<double>(row.rejected) / static_cast<double>(row.fittings)}}}};
  if (auto written = append("recipe_drafted", body.dump(), by); !written) return written.problem();
  return waiting(body.at("draft").get<std::string>());
}

Result<Draft> Drafts::release(const std::string& id, const std::string& reason, const std::string& by) {
  const std::lock_guard lock(mutex_);
  const auto found = waiting(id);
  if (!found) return found.problem();
  const Draft draft = found.value();
  if (draft.made_by == by)
    return Problem{"person", by + ", who made the draft", "another reviewer than who made it"};
  const auto checked = library::check_recipe_text(draft.text, draft.id + ".yaml", library_);
  if (!checked.recipe || !checked.joined || !checked.faults.empty())
    return Problem{
        "text",
        checked.faults.empty() ? std::string("a text that cannot be read") : checked.faults.front().text(),
        "a draft that the library's check finds no fault in"};
  recipe::Recipe released = *checked.recipe;
  released.status = recipe::Status::released;
  // The file comes first and as a draft, which admits nothing; then the record; then the file's last word. A
  // crash between any two leaves no release that is not on record.
  const fs::path file = folder_ / "recipes" / (draft.id + ".yaml");
  if (!holds(file, draft.text))  // left by a station that died here
    if (auto problem = write_new(file, draft.text)) return *problem;
  const json body = {
      {"draft", id},      {"recipe", draft.recipe}, {"revision", draft.revision}, {"made_by", draft.made_by},
      {"reason", reason}, {"signed", true}};
  if (auto written = append("recipe_released", body.dump(), by); !written) {
    std::error_code error;
    fs::remove(file, error);
    return written.problem();
  }
  const fs::path beside = file.string() + ".new";
  std::error_code error;
  fs::remove(beside, error);
  auto problem = write_new(beside, trial::to_yaml(released));
  if (!problem) {
    fs::rename(beside, file, error);
    if (error) problem = Problem{"file", error.message(), "a file that can be put in place"};
  }
  if (problem) {
    problem->found +=
        " (the release is on record; set \"status: released\" in " + file.filename().string() + " by hand)";
    return *problem;
  }
  if (auto read = catch_up()) return *read;
  for (const Draft& one : drafts_)
    if (one.id == id) return one;
  return no_such(id);
}

Result<Draft> Drafts::drop(const std::string& id, const std::string& reason, const std::string& by) {
  const std::lock_guard lock(mutex_);
  const auto found = waiting(id);
  if (!found) return found.problem();
  if (auto written = append("draft_dropped", json{{"draft", id}, {"reason", reason}}.dump(), by); !written)
    return written.problem();
  if (auto read = catch_up()) return *read;
  for (const Draft& one : drafts_)
    if (one.id == id) return one;
  return no_such(id);
}

}  // namespace shankwright::workshop
