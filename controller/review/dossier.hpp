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
///   gauges       [{id, used_for: [event]}]
///   bites        [{entry, at_utc, pass, bite, peak_pressure_bar, peak_force_kn, least_gap_mm, dwell_ms,
///   duration_ms,
///                  samples, samples_missing, longest_step_ms, rows: [[time_ms, pressure_bar, gap_mm]]}];
///                  what the
///                entry does not say is null
///   entries      [{sequence, at_utc, kind, event, actor, stage, gauge, reason, note, findings: [finding],
///   orders, body}] finding      {code, what, what_to_do, found, least, most}
/// Times are ISO 8601 in UTC. A Problem whose place is "serial" says that there is no such fitting; any other
/// is a fault of the record.
[[nodiscard]] Result<std::string> dossier_json(const ports::RecordStore& record, const std::string& serial);

/// The same for a terminal of 110 columns, without colour; the trace as a line of force over the closing
/// dies.
[[nodiscard]] Result<std::string> dossier_text(const ports::RecordStore& record, const std::string& serial);

}  // namespace shankwright::review
