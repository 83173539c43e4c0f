#pragma once
#include <string>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// All the evidence for one serial, oldest first: what it was made to, by whom, from what, every entry with
/// its findings in words, every bite with its trace, and the verdict.
namespace shankwright::review {

/// One JSON object, for programs and for the page:
///   format       "shankwright dossier 1"
///   cautions     [text]
///   fitting      serial, verdict, stage, job, operator, recipe, revision, rope, rope_lot, terminal,
///   terminal_lot,
///                die_pair, press, started_utc, changed_utc
///   recipe       the joined recipe as it was when the fitting was begun
///   state        the newest state
///   standing     [finding]: why it is held or scrapped
///   registered   what the register said at admission: operator, die_pair, press, rope_lot, terminal_lot;
///                null in records that do not say
///   gauges       [{id, kind, used_for: [event], calibration_due}]
///   measurements [{entry, event, name, pass, bite, unit, values, said, wanted, least, most, against, gauge,
///                gauge_calibration_due, superseded}]: measurement.hpp
///   holds        [{entry, at_utc, actor, findings: [finding]}]
///   dispositions [{entry, at_utc, actor, disposition, reason, proposed, signed}]
///   quarantines  [{entry, at_utc, actor, item, id, reason, lifted}]: of what it was made with
///   seal         {sequence, at_utc, why, head, public_key, signature, full_code, short_code} or null
///   not_sealed_because
///   bites        [{entry, at_utc, pass, bite, peak_pressure_bar, peak_force_kn, least_gap_mm, dwell_ms,
///                duration_ms, samples, samples_missing, longest_step_ms, rows: [[time_ms, pressure_bar,
///                gap_mm]]}]; what the entry does not say is null
///   entries      [{sequence, at_utc, kind, event, actor, stage, gauge, reason, note, findings: [finding],
///                orders, text, corrects, corrected_by, body}]; `corrects` and `corrected_by` are sequences
///   finding      {code, what, what_to_do, found, least, most}
/// Times are ISO 8601 in UTC. A Problem whose place is "serial" says that there is no such fitting; any other
/// is a fault of the record.
[[nodiscard]] Result<std::string> dossier_json(const ports::RecordStore& record, const std::string& serial);

/// The same for a terminal of 110 columns, without colour; the trace as a line of force over the closing
/// dies.
[[nodiscard]] Result<std::string> dossier_text(const ports::RecordStore& record, const std::string& serial);

}  // namespace shankwright::review
