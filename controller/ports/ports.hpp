#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "quantity/result.hpp"
#include "recipe/model.hpp"

/// The only doors from the station to the outside. Drivers, record and tests stand behind them.
namespace shankwright::ports {

class Clock {
 public:
  virtual ~Clock() = default;
  [[nodiscard]] virtual std::int64_t utc_us() const = 0;        ///< microseconds since 1970-01-01T00:00:00Z
  [[nodiscard]] virtual std::int64_t monotonic_us() const = 0;  ///< never goes back; origin unspecified
};

/// One 2 ms sample of a bite, as the press reports it (scaled).
struct Sample {
  std::uint32_t time_ms = 0;  ///< since the bite began; unwrapped
  double pressure_bar = 0;
  double gap_mm = 0;  ///< 65.535 means beyond range
  bool operator==(const Sample&) const = default;
};

/// The holding registers 1 to 9 of press-map.md, in engineering units, written in one request.
struct PressOrder {
  enum class Kind : std::uint8_t {
    none,
    permit_one_bite,
    withdraw_permit,
    open_dies,
    clear_fault,
    zero_pressure
  };
  Kind kind = Kind::none;
  std::uint16_t token = 0;  ///< non-zero and different from the one before
  double target_pressure_bar = 0, pressure_limit_bar = 0;
  double dwell_ms = 0, closed_gap_mm = 0, stroke_timeout_ms = 0, permit_life_ms = 0;
  std::uint16_t expected_die_tag = 0;
};

enum class LinkState : std::uint8_t {
  never_connected,
  connected,
  stale /* connected, evidence too old or beat frozen */,
  lost
};

/// One scan, decoded. `fresh` is the driver's judgement at the time of the scan; age is judged again when
/// used.
struct PressScan {
  std::uint64_t number = 0;          ///< scans since start
  std::int64_t at_monotonic_us = 0;  ///< when the answer was complete
  LinkState link = LinkState::never_connected;
  std::string
      link_problem;  ///< in words when link is not connected: exception name, time-out, wrong map version ...
  bool beat_moving = false;
  std::uint16_t map_version = 0, node_beat = 0, phase = 0, fault_code = 0, status = 0, die_tag = 0;
  double angle_deg = 0, oil_temperature_c = 0, pressure_bar = 0, gap_mm = 0, edge_distance_mm = 0;
  std::uint16_t permit_echo = 0, permit_state = 0, bite_number = 0;
  std::uint32_t stroke_total = 0;
  double peak_pressure_bar = 0, dwell_done_ms = 0, least_gap_mm = 0;
  std::uint16_t refusal = 0;
  /// Samples of `sample_bite` not handed over before, oldest first.
  std::uint16_t sample_bite = 0;
  std::uint16_t first_sample = 0;  ///< sequence number of new_samples.front()
  std::vector<Sample> new_samples;
  std::uint32_t samples_missing =
      0;  ///< found missing just before new_samples.front(); also samples nobody could read
  std::uint64_t link_losses = 0;  ///< times the link went from connected to anything else
};

/// The press behind its link. The implementation owns the link thread: it reads at its scan rate, keeps the
/// beat going by itself, and reconnects by itself. None of these calls waits for the network.
class Press {
 public:
  virtual ~Press() = default;
  /// Every scan since the last call, oldest first. The queue is bounded (see drivers/README.md); overflow
  /// shows up as samples_missing on the next scan, never silently.
  [[nodiscard]] virtual std::vector<PressScan> take_scans() = 0;
  /// Waits until a scan or a link change is there, or the time is over.
  virtual void wait_for_scan(int timeout_ms) = 0;
  /// Queues an order for the next scan. `not_after_monotonic_us` bounds it: an order not on the wire by then
  /// is dropped and reported by order_dropped(), never sent late.
  virtual void send(const PressOrder& order, std::int64_t not_after_monotonic_us) = 0;
  /// Tokens of orders dropped since the last call (link down, too late, or answered with an exception), with
  /// why.
  struct Dropped {
    std::uint16_t token = 0;
    std::string why;
    bool may_have_arrived = false;  ///< true when the write went out and no answer came
  };
  [[nodiscard]] virtual std::vector<Dropped> take_dropped() = 0;
  /// A token the press will see as a change, from what it was last seen to hold. 0 while that is unknown.
  [[nodiscard]] virtual std::uint16_t next_token() = 0;
};

/// One row of the record, as it is to be kept. Bodies are JSON texts.
struct NewEntry {
  std::int64_t at_utc_us = 0;
  std::string serial;         ///< empty for entries of the station itself
  std::string kind;           ///< "refused", "evidence", "finding", "verdict", "bite", "station" ...
  std::string event;          ///< name of the event ("rope_diameter", "permit_durable", "restarted" ...)
  std::string actor;          ///< operator id, or "station"
  std::string body_json;      ///< what was seen and decided, for people and for `trace`
  std::string state_json;     ///< state of the fitting after the entry; empty for station entries
  std::string stage;          ///< its stage by name, for the index
  std::vector<Sample> trace;  ///< empty unless this is a bite
};

/// A fitting as the index shows it.
struct FittingRow {
  std::string serial, recipe_id, job, operator_id, rope_lot, terminal_lot, die_pair_id, stage, verdict;
  std::uint32_t recipe_revision = 0;
  std::int64_t started_utc_us = 0, changed_utc_us = 0;
  std::string state_json;          ///< newest
  std::string joined_recipe_json;  ///< as it was at admission
};

struct FittingFilter {
  std::optional<std::int64_t> from_utc_us, until_utc_us;  ///< started within [from, until)
  std::string verdict;  ///< "accepted", "re-pressed", "scrapped", "held", "open"; empty for any
  std::string recipe_id, job, operator_id, rope_lot, terminal_lot, die_pair_id, serial_prefix;
  std::string gauge_id;      ///< used for some reading
  std::string finding_code;  ///< by name: told by some entry, refusals too
  std::string text;          ///< words, all of which are in the ids, the job, or a reason or remark
  std::size_t limit = 100;
  std::string after_serial;  ///< paging: serials after this one
};

struct StoredEntry {
  std::int64_t sequence = 0;
  NewEntry entry;
};

/// A signature (Ed25519, RFC 8032) over the chain as it stood at one entry, which stands for every entry
/// before.
struct Seal {
  std::int64_t sequence = 0;  ///< the newest entry it covers; the seal itself is the entry after
  std::int64_t at_utc_us = 0;
  std::string why;             ///< "release", "shift_end", "start", "stop", "key_change", "archive"
  std::string head_hex;        ///< hash of that entry, 64 digits
  std::string public_key_hex;  ///< 64 digits
  std::string signature_hex;   ///< 128 digits
};

/// Durable, append-only. When append() has returned a value the entries survive SIGKILL and power loss.
class RecordStore {
 public:
  virtual ~RecordStore() = default;
  /// All entries or none, in order; the index follows in the same transaction. Returns the last sequence
  /// number.
  [[nodiscard]] virtual Result<std::int64_t> append(const std::vector<NewEntry>& entries) = 0;
  /// A serial never given before, check characters included; reserved durably before it is returned.
  [[nodiscard]] virtual Result<std::string> reserve_serial(std::int64_t at_utc_us) = 0;
  /// Opens the fitting: the index row and its first entry in one transaction.
  [[nodiscard]] virtual Result<std::int64_t> open_fitting(const FittingRow& row, const NewEntry& admit) = 0;
  [[nodiscard]] virtual Result<std::vector<FittingRow>> open_fittings()
      const = 0;  ///< not released, scrapped
  /// Rows without state_json and joined_recipe_json: fitting() has them.
  [[nodiscard]] virtual Result<std::vector<FittingRow>> find(const FittingFilter& filter) const = 0;
  [[nodiscard]] virtual Result<FittingRow> fitting(const std::string& serial) const = 0;
  [[nodiscard]] virtual Result<std::vector<StoredEntry>> entries(const std::string& serial,
                                                                 bool with_traces) const = 0;
  /// append(), and in the same transaction a seal over the chain as it then stands.
  [[nodiscard]] virtual Result<std::int64_t> append_and_seal(const std::vector<NewEntry>& entries,
                                                             const std::string& why) = 0;
  /// The first seal that covers all that is on record about the fitting; a Problem when none does yet.
  [[nodiscard]] virtual Result<Seal> seal_over(const std::string& serial) const = 0;
  /// The station's own entries of one kind after `after_sequence`, oldest first.
  [[nodiscard]] virtual Result<std::vector<StoredEntry>> entries_of_kind(
      const std::string& kind, std::int64_t after_sequence) const = 0;
  /// Good bites on record with the die pair.
  [[nodiscard]] virtual Result<std::uint64_t> strokes_of(const std::string& die_pair_id) const = 0;
  /// Left on the disk the record lies on, for this user.
  [[nodiscard]] virtual Result<std::uint64_t> free_bytes() const = 0;
};

}  // namespace shankwright::ports
