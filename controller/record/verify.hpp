#pragma once
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "record/seal.hpp"
#include "record/seal_code.hpp"
#include "record/verify_watch.hpp"

/// Whether a whole record is what the station wrote: every file's pages and tables, every entry, trace and
/// recipe against the hashes, every seal against its key, what was sealed elsewhere against the record, and
/// the index against the entries. Needs the files alone: no station, no secret key, no network.
namespace shankwright::record {

struct VerifyWish {
  std::filesystem::path record;          ///< data folder, or one file: a copied record, a closed period
  std::optional<PublicKey> trusted_key;  ///< kept by the verifier; any key the record has had will do
  std::vector<std::string> codes;        ///< from certificates, as typed
  std::optional<std::filesystem::path> heads_file;
  bool compare_index = true;
  VerifyWatch watch{};  ///< none: nobody follows it
};

struct VerifyFinding {
  std::int64_t sequence = 0;  ///< the entry it is about, the first that does not fit; 0 for none
  std::string what;           ///< a whole sentence
};

struct VerifiedFile {
  std::filesystem::path file;
  std::int64_t first_sequence = 0, last_sequence = 0;
  std::int64_t entries = 0;  ///< found right
};

struct VerifyReport {
  std::vector<VerifiedFile> files;  ///< oldest first
  std::int64_t entries = 0, traces = 0, fittings = 0, seals = 0;
  std::int64_t newest = 0;
  std::string newest_hash_hex;
  std::optional<ports::Seal> newest_seal;
  std::vector<std::string> public_keys;  ///< in the order in which they sealed
  std::size_t codes_fit = 0, heads_fit = 0;
  std::vector<VerifyFinding> findings;  ///< empty: the record is sound
  std::vector<std::string> notes;       ///< what a reader should know of what was not or could not be shown
  [[nodiscard]] bool sound() const { return findings.empty(); }
};

/// Looks at the record as it is at the beginning: what a station writes meanwhile is no part of it. Problem
/// only when the record cannot be read at all, when a code or file given with the wish does not read, or with
/// the place "watch" when the watch broke it off.
[[nodiscard]] Result<VerifyReport> verify(const VerifyWish& wish);

}  // namespace shankwright::record
