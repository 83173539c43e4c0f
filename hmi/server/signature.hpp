#pragma once
#include <optional>
#include <string>

#include "accounts/accounts.hpp"
#include "hmi/server/exchange.hpp"

namespace shankwright::hmi {

/// Whether whoever asks has just proven again to be the person of the session, as a signature wants it: by
/// `pin` (of the body), or, without one, by POST /api/v1/session/confirm within the last minute, which is
/// then used up. Nothing when proven; otherwise the reply that refuses: 403 for a wrong or missing PIN, 429
/// while tries must wait. A wrong PIN counts towards lock-out.
[[nodiscard]] std::optional<Reply> refuse_unsigned(const Service& service, const Request& request,
                                                   const std::optional<std::string>& pin);

/// The answer to a PIN or code that was not right: `status_wrong`, or 429 with Retry-After; the body is a
/// problem with "tries_left" and "wait_s" beside it.
[[nodiscard]] Reply refuse_tried(const accounts::Tried& tried, const std::string& place, int status_wrong);

}  // namespace shankwright::hmi
