#include "simulators/node/fault_plan.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <stdexcept>

#include "quantity/quantity.hpp"

namespace shankwright::node {
namespace {

constexpr std::array descriptions{
    FaultDescription{FaultKind::beat_frozen, "beat_frozen", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::image_frozen, "image_frozen", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::link_dropped, "link_dropped", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::silent, "silent", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::answers_lost, "answers_lost", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::answer_delay_ms, "answer_delay_ms", true, 0, 60000, 20, 900},
    FaultDescription{FaultKind::exception_code, "exception_code", true, 1, 11, 4, 6},
    FaultDescription{FaultKind::garbled, "garbled", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::half_frames, "half_frames", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::sample_hole_every, "sample_hole_every", true, 2, 65535, 20, 400},
    FaultDescription{FaultKind::pressure_frozen, "pressure_frozen", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::pressure_offset_bar, "pressure_offset_bar", true, -50, 50, 2, 8},
    FaultDescription{FaultKind::gap_dead, "gap_dead", false, 0, 0, 0, 0},
    FaultDescription{FaultKind::gap_offset_mm, "gap_offset_mm", true, -0.9, 5, 0.05, 0.5},
    FaultDescription{FaultKind::relief_valve_bar, "relief_valve_bar", true, 5, 1000, 100, 400},
    FaultDescription{FaultKind::air_fraction, "air_fraction", true, 0, 0.2, 0.02, 0.1},
    FaultDescription{FaultKind::oil_temperature_c, "oil_temperature_c", true, -20, 120, 55, 85},
    FaultDescription{FaultKind::pump_wear, "pump_wear", true, 0, 1, 0.2, 0.8},
    FaultDescription{FaultKind::leak_mm3_s_bar, "leak_mm3_s_bar", true, 0, 1000, 5, 50},
};

Problem fault_problem(std::string_view text, std::string expected) {
  return {"fault", "\"" + std::string(text) + "\"", std::move(expected)};
}

std::string names() {
  std::string out;
  for (const auto& description : descriptions)
    out += (out.empty() ? "" : ", ") + std::string(description.name);
  return out;
}

std::string plain(double value) {
  std::array<char, 40> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
  return {buffer.data(), end};
}

}  // namespace

std::span<const FaultDescription> fault_descriptions() {
  return descriptions;
}

const FaultDescription& description_of(FaultKind kind) {
  for (const auto& description : descriptions) {
    if (description.kind == kind) return description;
  }
  throw std::logic_error("a fault kind without a description");
}

const FaultDescription* find_fault(std::string_view name) {
  const auto at =
      std::find_if(descriptions.begin(), descriptions.end(),
                   [name](const FaultDescription& description) { return description.name == name; });
  return at == descriptions.end() ? nullptr : &*at;
}

Result<FaultWindow> parse_fault(std::string_view text) {
  constexpr auto form =
      "NAME[=VALUE][@START[+LENGTH]], for example link_dropped@20s+2s or relief_valve_bar=180";
  const std::string_view head = text.substr(0, text.find('@'));
  const std::string_view name = head.substr(0, head.find('='));
  const FaultDescription* description = find_fault(name);
  if (description == nullptr) return fault_problem(text, "one of " + names());
  FaultWindow window{description->kind};
  if (description->has_value != (name.size() != head.size())) {
    return fault_problem(
        text, description->has_value ? std::string(name) + "=VALUE" : std::string(name) + " alone");
  }
  if (description->has_value) {
    const std::string_view number = head.substr(name.size() + 1);
    const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), window.value);
    if (error != std::errc() || end != number.data() + number.size() ||
        !(window.value >= description->least) || !(window.value <= description->most)) {
      return fault_problem(text,
                           "a value from " + plain(description->least) + " to " + plain(description->most));
    }
  }
  if (head.size() == text.size()) return window;
  const std::string_view when = text.substr(head.size() + 1);
  const std::string_view start = when.substr(0, when.find('+'));
  const auto start_ms = quantity::parse_duration_ms(start);
  if (!start_ms.ok() || start_ms.value() < 0) return fault_problem(text, form);
  window.from_ms = std::llround(start_ms.value());
  if (start.size() == when.size()) return window;
  const auto length_ms = quantity::parse_duration_ms(when.substr(start.size() + 1));
  if (!length_ms.ok() || length_ms.value() <= 0) return fault_problem(text, form);
  window.until_ms = window.from_ms + std::llround(length_ms.value());
  return window;
}

std::string text_of(const FaultWindow& window) {
  const FaultDescription& description = description_of(window.kind);
  std::string out(description.name);
  if (description.has_value) out += "=" + plain(window.value);
  if (window.from_ms == 0 && window.until_ms == no_end_ms) return out;
  out += "@" + std::to_string(window.from_ms) + "ms";
  if (window.until_ms != no_end_ms) out += "+" + std::to_string(window.until_ms - window.from_ms) + "ms";
  return out;
}

std::vector<FaultWindow> random_windows(std::uint64_t seed, int count, std::int64_t within_ms) {
  plant::Random random(seed);
  std::vector<FaultWindow> out;
  while (std::ssize(out) < count) {
    const FaultDescription& description = descriptions[random.bits() % descriptions.size()];
    FaultWindow window{description.kind};
    // Two decimals are enough for a fault and make it short to tell again.
    window.value = std::round(100 * random.uniform(description.drawn_least, description.drawn_most)) / 100;
    if (description.kind == FaultKind::exception_code || description.kind == FaultKind::sample_hole_every) {
      window.value = std::round(window.value);
    }
    window.from_ms = std::llround(random.uniform(0, static_cast<double>(within_ms)));
    window.until_ms = window.from_ms + std::llround(random.uniform(200, 5000));
    out.push_back(window);
  }
  std::sort(out.begin(), out.end(),
            [](const FaultWindow& a, const FaultWindow& b) { return a.from_ms < b.from_ms; });
  return out;
}

ActiveFaults active_at(std::span<const FaultWindow> windows, std::int64_t now_ms) {
  ActiveFaults out;
  for (const FaultWindow& window : windows) {
    if (now_ms < window.from_ms || now_ms >= window.until_ms) continue;
    switch (window.kind) {
      case FaultKind::beat_frozen:
        out.beat_frozen = true;
        break;
      case FaultKind::image_frozen:
        out.image_frozen = true;
        break;
      case FaultKind::link_dropped:
        out.link.dropped = true;
        break;
      case FaultKind::silent:
        out.link.silent = true;
        break;
      case FaultKind::answers_lost:
        out.link.answers_lost = true;
        break;
      case FaultKind::answer_delay_ms:
        out.link.delay_ms = static_cast<int>(window.value);
        break;
      case FaultKind::exception_code:
        out.link.exception_code = static_cast<std::uint8_t>(window.value);
        break;
      case FaultKind::garbled:
        out.link.garbled = true;
        break;
      case FaultKind::half_frames:
        out.link.half_frames = true;
        break;
      case FaultKind::sample_hole_every:
        out.sample_hole_every = static_cast<int>(window.value);
        break;
      case FaultKind::pressure_frozen:
        out.plant.pressure_frozen = true;
        break;
      case FaultKind::pressure_offset_bar:
        out.plant.pressure_offset_bar = window.value;
        break;
      case FaultKind::gap_dead:
        out.plant.gap_dead = true;
        break;
      case FaultKind::gap_offset_mm:
        out.plant.gap_offset_mm = window.value;
        break;
      case FaultKind::relief_valve_bar:
        out.plant.relief_valve_bar = window.value;
        break;
      case FaultKind::air_fraction:
        out.plant.air_fraction = window.value;
        break;
      case FaultKind::oil_temperature_c:
        out.plant.oil_temperature_c = window.value;
        break;
      case FaultKind::pump_wear:
        out.plant.pump_wear = window.value;
        break;
      case FaultKind::leak_mm3_s_bar:
        out.plant.leak_mm3_s_bar = window.value;
        break;
    }
  }
  return out;
}

}  // namespace shankwright::node
