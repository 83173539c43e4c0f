#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"

/// What a reviewer asks of the record as a whole, beside what RecordStore answers. All calls may come from
/// any thread; none waits for a writer or holds one up.
namespace shankwright::ports {

/// One thing found wrong, in a whole sentence. `sequence` is the entry it is about; 0 for none.
struct IntegrityFinding {
  std::int64_t sequence = 0;
  std::string what;
};

/// A verification of the whole record, as it stands.
struct Verification {
  enum class State : std::uint8_t { never, running, done, failed };
  State state = State::never;
  std::string asked_by;
  std::int64_t started_utc_us = 0;
  std::optional<std::int64_t> ended_utc_us;
  std::uint64_t bytes = 0;  ///< of the files that it reads
  /// Of a running one: what it looks at, "pages", "hashes", "index_made" or "index_looked", and how many of
  /// how many entries it has been over in that.
  std::string part;
  std::int64_t part_done = 0, part_of = 0;
  std::int64_t entries = 0, traces = 0, fittings = 0, seals = 0, newest_sequence = 0;
  std::optional<Seal> newest_seal;
  std::vector<IntegrityFinding> findings;  ///< done and empty: the record is sound
  std::vector<std::string> notes;          ///< what was not or could not be shown
  std::string fault;                       ///< failed: why the record could not be read
  [[nodiscard]] bool sound() const { return state == State::done && findings.empty(); }
};

/// Whether what is on record about one serial is as it was written: the chain from its first entry to the
/// seal that covers its last, hashes of traces and recipe with it, and the seal's signature.
struct DossierProof {
  std::int64_t first_sequence = 0, last_sequence = 0;  ///< of the fitting's entries
  std::int64_t entries = 0;                            ///< of the chain, found right
  bool chain_holds = false;
  bool own_entries_hold = false;  ///< each of its own fits its hash and the entry before it
  bool sealed = false;            ///< a seal covers all of it and its signature is right
  bool too_long = false;  ///< so much lies between that only a verification of the whole record is due
  std::optional<Seal> seal;
  std::vector<IntegrityFinding> findings;
  std::vector<std::string> notes;
};

class ReviewPort {
 public:
  virtual ~ReviewPort() = default;
  /// Every fitting that fits, oldest serial first, in constant memory; `visit` returns false to stop. The
  /// filter's limit and after_serial are not looked at. How many were visited.
  [[nodiscard]] virtual Result<std::int64_t> each_fitting(
      const FittingFilter& filter, const std::function<bool(const FittingRow&)>& visit) const = 0;
  /// The serials of fittings that may have been meant, nearest first, at most `most`.
  [[nodiscard]] virtual Result<std::vector<std::string>> serials_near(const std::string& typed,
                                                                      std::size_t most) const = 0;
  [[nodiscard]] virtual Verification verification() const = 0;
  /// Begins one unless one is running; whether it began. The outcome goes on record.
  [[nodiscard]] virtual bool verify_whole(const std::string& actor) = 0;
  /// A Problem with the place "serial" where there is no such fitting.
  [[nodiscard]] virtual Result<DossierProof> prove(const std::string& serial) const = 0;
};

}  // namespace shankwright::ports
