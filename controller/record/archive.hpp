#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// Closing a period: the record's file is sealed and put away whole, never to be written again, and the
/// record goes on in a new file whose chain begins where the closed one ends. Nothing is deleted: what was
/// the record becomes `archive/record-<first>-<last>.sqlite3`. Search, open fittings and serials go on as
/// before; the evidence of older fittings is read from the closed file where it lies.
namespace shankwright::record {

/// The first entry of a file after the first: which file it follows on.
inline constexpr std::string_view archive_kind = "archive";
[[nodiscard]] ports::NewEntry period_closed(std::int64_t first_sequence, std::int64_t last_sequence,
                                            std::string_view head_hex, const std::string& file,
                                            const std::string& actor, std::int64_t at_utc_us);

struct ClosedPeriod {
  std::filesystem::path file;
  std::int64_t first_sequence = 0, last_sequence = 0;
  std::string head_hex;
};
/// While no station writes. Checks the whole file first and closes nothing that is broken. A process killed
/// at any moment leaves either the old record or the new one; the next start clears away what was begun.
[[nodiscard]] Result<ClosedPeriod> close_period(const std::filesystem::path& folder, const std::string& actor,
                                                std::int64_t at_utc_us);

}  // namespace shankwright::record
