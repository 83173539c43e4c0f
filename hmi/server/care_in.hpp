#pragma once
#include <string_view>

#include "ports/station_port.hpp"
#include "quantity/result.hpp"

/// Bodies of requests about quarantine and corrections. Actors and serials are left empty for the caller.
namespace shankwright::hmi {

/// {"item":"rope_lot"|"terminal_lot"|"die_pair"|"gauge","id","reason"} and perhaps "preview":true, with which
/// the reason may be left out.
struct Quarantine {
  ports::QuarantineAsked asked;
  bool preview = false;
};
[[nodiscard]] Result<Quarantine> read_quarantine(std::string_view body, bool preview_known);

/// {"of":<number of an entry>,"text","reason"}
[[nodiscard]] Result<ports::Correction> read_correction(std::string_view body);

}  // namespace shankwright::hmi
