#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>

#include "quantity/result.hpp"

/// A copy of the record while the station writes, and the way back from one. Both may be another process than
/// the station: copying reads only.
namespace shankwright::record {

struct BackupReport {
  std::filesystem::path file;
  std::uint64_t bytes = 0;
  std::int64_t newest = 0;  ///< sequence of the newest entry in the copy; 0 for none
  std::string newest_hash_hex;
  std::int64_t newest_at_utc_us = 0;  ///< instant of that entry
  std::int64_t entries_checked = 0;   ///< hashes computed anew in the copy and found right
  std::size_t closed_files = 0;       ///< closed periods that lie beside the copy now
};

/// Pages copied of all pages; equal when copying is over and the copy is being checked.
using BackupProgress = std::function<void(std::uint64_t done, std::uint64_t all)>;

struct BackupPace {
  int pages_a_slice = 256;  ///< copied at once: 1 MiB
  int pause_ms = 2;         ///< after each slice, in which the disk is the station's
  int pages_a_sync = 2048;  ///< put on the target's disk at once, so that it never has a heap to write
};

/// Copies the record as it is when copying begins; what the station appends meanwhile goes into the next
/// copy. The record's journal grows for as long as copying takes and shrinks after that. A copy is written
/// under another name ("<target>.part-<process>"), put on the disk for certain, and checked (pages, every
/// hash, its newest entry against the record) before it gets its name. Closed periods (archive.hpp) are
/// copied into the folder `archive` beside the target unless they are there already. Secret keys are not
/// copied.
///
/// Never overwrites: Problem when the target is there. Problem, and nothing left behind, when the disk is
/// full or fails or when the copy is not sound. A killed process leaves its ".part-" file, which nobody
/// reads.
[[nodiscard]] Result<BackupReport> back_up(const std::filesystem::path& folder,
                                           const std::filesystem::path& target,
                                           const BackupProgress& progress = {}, const BackupPace& pace = {});

struct RestoreWish {
  std::filesystem::path copy;    ///< written by back_up()
  std::filesystem::path folder;  ///< a data folder that is not there yet, or empty
  /// Serials given after the copy was made are on labels and certificates, and the copy does not know them.
  /// So many are left out, from the newest the copy knows.
  std::int64_t skip_serials = 1000;
  std::string last_serial;  ///< the highest serial known to have been given; empty when nobody knows
  std::string actor;
  std::int64_t at_utc_us = 0;
};

struct RestoreReport {
  std::int64_t entries = 0;         ///< in the copy's newest file, found right
  std::int64_t copied_until = 0;    ///< sequence of the copy's newest entry
  std::string last_serial_in_copy;  ///< empty when it has none
  std::string last_serial_skipped;  ///< empty when none was
  std::int64_t serials_skipped = 0;
};

/// Puts a copy, checked and brought up to date, in the place of a lost record, and writes into it that it was
/// restored, by whom, and which serials will never be given (kind "station", event "restored"). The folder
/// appears whole or not at all. The copy is only read.
///
/// Problem when the folder holds anything, the copy is not sound, or `last_serial` lies beyond what is
/// skipped.
[[nodiscard]] Result<RestoreReport> restore(const RestoreWish& wish);

}  // namespace shankwright::record
