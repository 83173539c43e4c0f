#pragma once
#include <span>
#include <string>
#include <string_view>

#include "ports/station_port.hpp"
#include "quantity/result.hpp"

/// Bodies of requests to checked values. Each takes the text of a body; problems name the place as a JSON
/// pointer.
namespace shankwright::hmi {

/// {"person":"<id>"}
[[nodiscard]] Result<std::string> read_sign_in(std::string_view body);

/// {"recipe","job","rope_lot","terminal_lot"}; operator_id is left empty for the caller, who knows who asks.
[[nodiscard]] Result<ports::StartFitting> read_start(std::string_view body);

/// Any evidence body; serial and actor are left empty for the caller. Lengths in mm and angles in degrees
/// inside.
[[nodiscard]] Result<ports::Act> read_evidence(std::string_view body);

/// {"disposition":"scrap"|"use_as_is","reason":"..."}
[[nodiscard]] Result<ports::Act> read_disposition(std::string_view body);

/// {} or nothing: what acts without values send. Gives true.
[[nodiscard]] Result<bool> read_nothing(std::string_view body);

/// Kinds of evidence, in the order of work.
[[nodiscard]] std::span<const std::string_view> evidence_kinds();

}  // namespace shankwright::hmi
