#include "hmi/server/names.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <vector>

namespace shankwright::hmi {
namespace {

/// Levenshtein distance: single-character insertions, deletions and replacements.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({row[j] + 1, row[j + 1] + 1, replaced});
    }
  }
  return row.back();
}

}  // namespace

std::string_view name_of(recipe::Status status) {
  switch (status) {
    case recipe::Status::draft:
      return "draft";
    case recipe::Status::released:
      return "released";
    case recipe::Status::withdrawn:
      return "withdrawn";
  }
  return "unknown";
}

std::string_view name_of(recipe::Construction construction) {
  switch (construction) {
    case recipe::Construction::strand_1x19:
      return "1x19";
    case recipe::Construction::rope_7x7:
      return "7x7";
    case recipe::Construction::rope_7x19:
      return "7x19";
  }
  return "unknown";
}

std::string_view name_of(recipe::DieShape shape) {
  switch (shape) {
    case recipe::DieShape::hexagon:
      return "hexagon";
    case recipe::DieShape::round:
      return "round";
  }
  return "unknown";
}

std::string_view name_of(recipe::GaugeKind kind) {
  switch (kind) {
    case recipe::GaugeKind::caliper:
      return "caliper";
    case recipe::GaugeKind::micrometer:
      return "micrometer";
    case recipe::GaugeKind::depth_rod:
      return "depth_rod";
    case recipe::GaugeKind::rule:
      return "rule";
    case recipe::GaugeKind::protractor:
      return "protractor";
    case recipe::GaugeKind::go_gap:
      return "go_gap";
    case recipe::GaugeKind::no_go_gap:
      return "no_go_gap";
    case recipe::GaugeKind::straight_edge:
      return "straight_edge";
    case recipe::GaugeKind::tape:
      return "tape";
    case recipe::GaugeKind::loupe:
      return "loupe";
  }
  return "unknown";
}

std::string_view name_of(ports::LinkState link) {
  switch (link) {
    case ports::LinkState::never_connected:
      return "never_connected";
    case ports::LinkState::connected:
      return "connected";
    case ports::LinkState::stale:
      return "stale";
    case ports::LinkState::lost:
      return "lost";
  }
  return "never_connected";
}

std::string_view permit_state_name(std::uint16_t state) {
  constexpr std::array<std::string_view, 6> names = {"none", "taken",     "refused",
                                                     "used", "withdrawn", "expired"};
  return state < names.size() ? names[state] : "unknown";
}

std::string_view nearest_name(std::string_view given, std::span<const std::string_view> known) {
  std::string_view best;
  std::size_t best_distance = std::max<std::size_t>(2, given.size() / 3) + 1;
  if (given.size() > 40) return best;  // nobody's slip of the keyboard
  for (const auto name : known) {
    const std::size_t far = distance(given, name);
    if (far < best_distance && far < name.size()) {
      best = name;
      best_distance = far;
    }
  }
  return best;
}

std::string expected_one_of(std::string_view given, std::span<const std::string_view> known) {
  if (known.empty()) return "nothing here";
  std::string out = "one of: ";
  for (std::size_t i = 0; i < known.size(); ++i) out += (i == 0 ? "" : ", ") + std::string(known[i]);
  if (const auto near = nearest_name(given, known); !near.empty())
    out += "; did you mean \"" + std::string(near) + "\"?";
  return out;
}

}  // namespace shankwright::hmi
