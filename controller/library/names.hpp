#pragma once
#include "library/reader.hpp"
#include "recipe/model.hpp"

/// How the YAML, and the JSON in the record, spell the model's enums. Stored on disk: never rename one.
namespace shankwright::library {

inline constexpr Named<recipe::Status> status_names[] = {{"draft", recipe::Status::draft},
                                                         {"released", recipe::Status::released},
                                                         {"withdrawn", recipe::Status::withdrawn}};
inline constexpr Named<recipe::Construction> construction_names[] = {
    {"1x19", recipe::Construction::strand_1x19},
    {"7x7", recipe::Construction::rope_7x7},
    {"7x19", recipe::Construction::rope_7x19}};
inline constexpr Named<recipe::EndKind> end_names[] = {{"eye", recipe::EndKind::eye},
                                                       {"fork", recipe::EndKind::fork},
                                                       {"stud", recipe::EndKind::stud},
                                                       {"ball", recipe::EndKind::ball},
                                                       {"stop", recipe::EndKind::stop}};
inline constexpr Named<recipe::DieShape> shape_names[] = {{"hexagon", recipe::DieShape::hexagon},
                                                          {"round", recipe::DieShape::round}};
inline constexpr Named<recipe::GaugeKind> gauge_kind_names[] = {
    {"caliper", recipe::GaugeKind::caliper},
    {"micrometer", recipe::GaugeKind::micrometer},
    {"depth_rod", recipe::GaugeKind::depth_rod},
    {"rule", recipe::GaugeKind::rule},
    {"protractor", recipe::GaugeKind::protractor},
    {"go_gap", recipe::GaugeKind::go_gap},
    {"no_go_gap", recipe::GaugeKind::no_go_gap},
    {"straight_edge", recipe::GaugeKind::straight_edge},
    {"tape", recipe::GaugeKind::tape},
    {"loupe", recipe::GaugeKind::loupe},
    {"load_cell", recipe::GaugeKind::load_cell}};

template <typename T, std::size_t N>
[[nodiscard]] std::string_view name_of(const Named<T> (&names)[N], T value) {
  for (const auto& name : names) {
    if (name.value == value) return name.name;
  }
  return "";
}

}  // namespace shankwright::library
