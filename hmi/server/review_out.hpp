#pragma once
#include "hmi/server/json_out.hpp"
#include "ports/review_port.hpp"
#include "review/asked.hpp"

/// What a reviewer is answered, as hmi/openapi.yaml says.
namespace shankwright::hmi {

/// `now_utc_us` says how long a running verification has been at it.
[[nodiscard]] Json to_json(const ports::Verification& verification, std::int64_t now_utc_us);
[[nodiscard]] Json to_json(const ports::DossierProof& proof);
[[nodiscard]] Json to_json(const review::Asked& asked);

}  // namespace shankwright::hmi
