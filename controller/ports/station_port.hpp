#pragma once
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "procedure/decide.hpp"

/// What the page and other programs may ask of the station. hmi/server stands on this and on nothing else of
/// the station; all calls may come from any thread.
namespace shankwright::ports {

/// One fitting as it stands, with what the screen needs to say what is next.
struct FittingView {
  std::string serial, recipe_id, job, operator_id, rope_lot, terminal_lot;
  std::int64_t started_utc_us = 0;
  procedure::State state;
  recipe::JoinedRecipe joined;
  double planned_edge_mm = 0;                ///< of the coming bite
  recipe::Band accepted_edge_mm;             ///< of the coming bite, narrowed by the previous one
  std::vector<recipe::ForceAtGap> envelope;  ///< of the coming or running bite, scaled to the shank it works
  std::vector<procedure::Finding> last_findings;  ///< of the newest entry about this fitting
  procedure::EntryKind last_entry = procedure::EntryKind::evidence;
  std::string verdict;      ///< "", "accepted", "scrapped", "held"
  std::string proposed_by;  ///< who signed the disposition that waits for a second reviewer
};

/// Consistent picture of the station; immutable once published.
struct Snapshot {
  std::uint64_t version = 0;  ///< grows with every publication
  std::int64_t at_utc_us = 0;
  PressScan press;  ///< newest scan; new_samples empty
  bool press_fresh = false;
  std::int64_t press_age_ms = 0;
  std::vector<Sample> bite_samples;           ///< of the bite now running or last finished, for the live plot
  std::uint16_t bite_samples_of = 0;          ///< bite number they belong to
  std::shared_ptr<const FittingView> active;  ///< the fitting at the press, or null
  std::vector<std::string> set_aside;         ///< serials
  std::vector<std::string> held;              ///< serials waiting for a reviewer
  std::vector<std::string>
      notices;  ///< plain sentences: what the last start found, disk trouble, beat queue ...
};

struct StartFitting {
  std::string recipe_id, job, rope_lot, terminal_lot, operator_id;
};

/// A person's act on one fitting: an event whose Tool and operator flags the station fills in from the shop
/// register.
struct Act {
  std::string serial;
  procedure::Event
      event;  ///< Tool, PressEvidence, roles and tokens inside are ignored and filled by the station
  std::string gauge_id;          ///< for measured values
  std::string actor;             ///< operator or reviewer id
  std::string reason;            ///< dispositions: kept word for word
  bool signed_with_pin = false;  ///< dispositions: the actor gave the PIN again with this very act
};

enum class Acceptance : std::uint8_t { taken, refused, unknown_serial, station_fault };

/// What can be quarantined.
enum class Item : std::uint8_t { rope_lot, terminal_lot, die_pair, gauge };
struct QuarantineAsked {
  Item item = Item::rope_lot;
  std::string id, reason, actor;
};
/// `held`: the open fittings that use the item; `released`: the released ones, oldest serial first. Of a
/// preview: what would be held; nothing is written.
struct QuarantineResult {
  Acceptance acceptance = Acceptance::station_fault;
  std::vector<procedure::Finding> findings;
  std::vector<std::string> held, released;
  Problem fault;  ///< station_fault only
};
struct QuarantinedItem {
  Item item = Item::rope_lot;
  std::string id, reason, actor;
  std::int64_t at_utc_us = 0;
  bool in_shop_file = false;  ///< the shop register itself says so; the record cannot lift that
};

/// A remark that sets an entry right. The entry stays as it is.
struct Correction {
  std::string serial;
  std::int64_t of_sequence = 0;  ///< of an entry about that serial
  std::string text, reason, actor;
};

/// Control of the press passes to another screen over the head of whoever holds it.
struct ControlTakenOver {
  std::string actor, from;             ///< person ids: who takes it, and whose screen held it
  std::int64_t held_since_utc_us = 0;  ///< by `from`
};

struct ActResult {
  Acceptance acceptance = Acceptance::station_fault;
  std::vector<procedure::Finding> findings;
  std::shared_ptr<const FittingView> fitting;  ///< null when there is none
  Problem fault;                               ///< station_fault only: disk, record ...
};

class StationPort {
 public:
  virtual ~StationPort() = default;
  /// Each returns after the record is durable (or the fault is known).
  [[nodiscard]] virtual ActResult start_fitting(const StartFitting& start) = 0;
  [[nodiscard]] virtual ActResult act(const Act& act) = 0;
  /// open_dies, clear_fault, zero_pressure, withdraw: recorded, then sent. Findings say why not.
  [[nodiscard]] virtual ActResult press_order(PressOrder::Kind kind, const std::string& actor) = 0;
  /// Puts every open fitting that uses the item on hold. Reviewers; for die pairs and gauges technicians too.
  [[nodiscard]] virtual QuarantineResult quarantine(const QuarantineAsked& asked) = 0;
  [[nodiscard]] virtual QuarantineResult quarantine_preview(const QuarantineAsked& asked) = 0;
  /// Reviewers only. What was held stays held: each fitting wants its own disposition.
  [[nodiscard]] virtual QuarantineResult lift_quarantine(const QuarantineAsked& asked) = 0;
  [[nodiscard]] virtual std::vector<QuarantinedItem> quarantined() const = 0;
  /// Reviewers, or whoever made the entry. Open and finished fittings alike.
  [[nodiscard]] virtual ActResult correct(const Correction& correction) = 0;
  /// Seals the record as it stands.
  [[nodiscard]] virtual ActResult end_shift(const std::string& actor) = 0;
  /// On record before it counts. Operators and technicians; never while a permit is out or a bite runs. Which
  /// screen holds control is not the station's to know: hmi/server asks this before it hands control on.
  [[nodiscard]] virtual ActResult take_over_control(const ControlTakenOver& taken) = 0;
  [[nodiscard]] virtual std::shared_ptr<const Snapshot> latest() const = 0;
  /// Waits for a snapshot newer than `version`, at most timeout_ms; returns the newest either way.
  [[nodiscard]] virtual std::shared_ptr<const Snapshot> wait_newer(std::uint64_t version,
                                                                   int timeout_ms) const = 0;
  [[nodiscard]] virtual std::shared_ptr<const FittingView> fitting(
      const std::string& serial) const = 0;  ///< null if unknown
};

}  // namespace shankwright::ports
