#include "record/state_patch.hpp"

#include <nlohmann/json.hpp>
#include <stdexcept>

namespace shankwright::record {
namespace {

using nlohmann::json;

constexpr auto key = "patch";

json patch_between(const json& before, const json& after) {
  json out = json::object();
  for (const auto& [name, value] : before.items())
    if (!after.contains(name)) out[name] = nullptr;
  for (const auto& [name, value] : after.items())
    if (const auto old = before.find(name); old == before.end() || *old != value) out[name] = value;
  return out;
}

}  // namespace

std::string stored_state(std::string_view before, std::string_view after) {
  const auto old = json::parse(before, nullptr, false), now = json::parse(after, nullptr, false);
  if (!old.is_object() || !now.is_object()) return std::string(after);
  auto patch = patch_between(old, now);
  auto again = old;
  again.merge_patch(patch);
  auto stored = json{{key, std::move(patch)}}.dump();
  return stored.size() < after.size() && again.dump() == after ? stored : std::string(after);
}

std::string state_after(std::string_view before, std::string_view stored) {
  RunningState state{std::string(before)};
  state.follow(stored);
  return state.text();
}

void RunningState::follow(std::string_view stored) {
  // Cheap for the whole states of first entries and older records, which never begin so.
  if (!stored.starts_with("{\"patch\":")) {
    *this = RunningState(std::string(stored));
    return;
  }
  const auto change = json::parse(stored, nullptr, false);
  if (!change.is_object() || change.size() != 1 || !value().is_object())
    throw std::runtime_error("a change of state without the state it changes");
  value_->merge_patch(change.at(key));
  changed_ = true;
}

const json& RunningState::value() {
  if (!value_) value_ = json::parse(text_, nullptr, false);
  return *value_;
}

}  // namespace shankwright::record
