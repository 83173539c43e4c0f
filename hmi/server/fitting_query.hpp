#pragma once
#include <map>
#include <string>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

namespace shankwright::hmi {

/// The query of GET /fittings. `until` is the last day included, so from = until asks for one day. Unknown
/// parameters and verdicts are problems that name the nearest known one.
[[nodiscard]] Result<ports::FittingFilter> read_fitting_query(
    const std::map<std::string, std::string>& query);

inline constexpr std::size_t fittings_most = 1000;

}  // namespace shankwright::hmi
