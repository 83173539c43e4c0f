#pragma once
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "review/bite.hpp"

/// The evidence for one serial, taken apart but not yet laid out. Reads entries of older programs too: what a
/// body does not say is missing here, and a body that is not JSON is kept as the text it is.
namespace shankwright::review {

using Json = nlohmann::ordered_json;

struct FindingInWords {
  std::string code, what, what_to_do;  ///< for a code this program does not know, `what` is the code
  double found = 0, least = 0, most = 0;
};

struct EntryEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string kind, event, actor, stage, gauge, reason, note;
  std::vector<FindingInWords> findings;
  Json orders = Json::array();
  Json event_fields = Json::object();
  Json body;
  std::string text;                        ///< of a correction
  std::string gauge_calibration_due;       ///< last day, as it stood when the gauge was used
  std::optional<std::int64_t> corrects;    ///< sequence of the entry that this one is a correction of
  std::vector<std::int64_t> corrected_by;  ///< later entries that correct this one
  /// After a turn: the angle now, and of the pass before.
  std::optional<double> angle_deg, previous_angle_deg;
};

struct BiteEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::optional<int> pass, bite;
  std::optional<double> peak_pressure_bar, peak_force_kn, least_gap_mm,
      dwell_ms;  ///< as the press reported them
  std::optional<std::uint32_t> samples_missing;
  std::vector<double> force_at_envelope_gaps_kn;
  /// [{"gap_mm","force_kn":{"least","most"}}], what this bite was judged by: the recipe's envelope scaled to
  /// the shank it worked. Null in records that do not say.
  Json accepted_force;
  std::vector<ports::Sample> trace;
  std::optional<TraceSummary> summary;  ///< nothing without a trace
};

struct GaugeEvidence {
  std::string id, kind;               ///< the kind as the recipe has it
  std::vector<std::string> used_for;  ///< events, as first used
  std::string calibration_due;        ///< the earliest last day on record for a use; empty where none says
  std::optional<double> expanded_uncertainty;
  std::string uncertainty_unit;  ///< "mm" or "deg"
};

/// The fitting came to a stop for want of good evidence.
struct HoldEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string actor;
  std::vector<FindingInWords> findings;
};

/// A person decided about a fitting on hold, or proposed to where two persons must agree.
struct DispositionEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string actor, disposition, reason;  ///< "use_as_is", "scrap"
  bool proposed = false;                   ///< first of two persons: decides nothing yet
  std::optional<bool> signed_with_pin;     ///< nothing in records that do not say
};

/// Something this fitting was made with was put under quarantine, or released from it.
struct QuarantineEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string actor, item, id, reason;  ///< item: "rope_lot", "terminal_lot", "die_pair", "gauge"
  bool lifted = false;
};

struct Evidence {
  ports::FittingRow row;
  Json recipe = Json::object();  ///< the joined recipe
  Json state = Json::object();
  std::vector<FindingInWords> standing;
  std::vector<EntryEvidence> entries;
  std::vector<BiteEvidence> bites;
  std::vector<GaugeEvidence> gauges;  ///< as first used
  /// What the shop's register said at admission: operator, die_pair, press, rope_lot, terminal_lot. Null in
  /// records that do not say.
  Json registered;
  std::vector<HoldEvidence> holds;
  std::vector<DispositionEvidence> dispositions;
  std::vector<QuarantineEvidence> quarantines;  ///< of its lots, die pair and gauges, oldest first
  std::optional<std::int64_t> released_utc_us;
  std::optional<ports::Seal> seal;  ///< over all that is on record about the fitting
  std::string not_sealed_because;   ///< empty when there is a seal
};

enum class Traces : bool { with, without };
[[nodiscard]] Result<Evidence> collect(const ports::RecordStore& record, const std::string& serial,
                                       Traces traces = Traces::with);

/// Released although held before: a reviewer's word stands in place of evidence.
[[nodiscard]] bool accepted_by_disposition(const Evidence& evidence);
/// What was quarantined and is not free again.
[[nodiscard]] std::vector<QuarantineEvidence> still_quarantined(const Evidence& evidence);

/// The text at a path of keys, numbers as number_text; empty where there is none.
[[nodiscard]] std::string text_at(const Json& from, std::initializer_list<const char*> path);
[[nodiscard]] std::optional<double> number_at(const Json& from, std::initializer_list<const char*> path);
/// What is at a path of keys, or null.
[[nodiscard]] const Json& at_path(const Json& from, std::initializer_list<const char*> path);

/// What every dossier says beside the evidence.
[[nodiscard]] const std::vector<std::string>& cautions();

}  // namespace shankwright::review
