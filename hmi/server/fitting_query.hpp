#pragma once
#include <map>
#include <optional>
#include <string>

#include "hmi/server/exchange.hpp"
#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "review/asked.hpp"

namespace shankwright::hmi {

struct FittingQuery {
  ports::FittingFilter filter;
  std::optional<review::Asked> asked;  ///< where the query came as one text
};

/// The query of GET /fittings: either `ask`, one text read as review/asked.hpp says, or conditions one by
/// one. `until` is the last day included, so from = until asks for one day. Unknown parameters and verdicts
/// are problems that name the nearest known one.
[[nodiscard]] Result<FittingQuery> read_fitting_query(const std::map<std::string, std::string>& query,
                                                      const review::KnownNames& known);

/// What library, register and accounts have names for.
[[nodiscard]] review::KnownNames known_names(const Service& service);

inline constexpr std::size_t fittings_most = 1000;

}  // namespace shankwright::hmi
