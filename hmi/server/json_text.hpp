#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

namespace shankwright::hmi {

inline constexpr std::size_t body_bytes_most = 64 * 1024;
inline constexpr std::size_t json_depth_most = 8;

/// JSON from outside: one value, at most json_depth_most deep, no member twice in one object (RFC 8259 leaves
/// the meaning of that open). Empty text is taken as {}.
[[nodiscard]] Result<nlohmann::json> parse_json(std::string_view text);

/// One line. Text that is not UTF-8 (it can come from a path or an old file) has its bad bytes replaced,
/// never thrown at.
[[nodiscard]] std::string dump_json(const nlohmann::ordered_json& value);

/// A JSON value as it was written, shortened for a Problem's `found`.
[[nodiscard]] std::string shown(const nlohmann::json& value);

/// {"problem":{"place","found","expected"}}
[[nodiscard]] std::string problem_body(const Problem& problem);

}  // namespace shankwright::hmi
