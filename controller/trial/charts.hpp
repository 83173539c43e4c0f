#pragma once
#include <string>
#include <utility>
#include <vector>

#include "figures/chart.hpp"
#include "trial/report.hpp"

namespace shankwright::trial {

/// The pictures of a trial, each with the name of its file (without ending): across_flats, rejects,
/// force_by_gap, sensitivity.
[[nodiscard]] std::vector<std::pair<std::string, figures::Figure>> charts_of(const Report& report);

}  // namespace shankwright::trial
