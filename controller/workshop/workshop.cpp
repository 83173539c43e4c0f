#include "workshop/workshop.hpp"

#include <nlohmann/json.hpp>

namespace shankwright::workshop {
namespace {

constexpr std::int64_t us_per_day = 86'400'000'000;

}  // namespace

Workshop::Workshop(WorkshopOptions options, ports::RecordStore& record, const library::Library& library,
                   const library::Shop& shop, const people::People& people, const ports::Clock& clock)
    : options_(std::move(options)),
      record_(record),
      library_(library),
      shop_(shop),
      people_(people),
      clock_(clock),
      calibrations_(record, shop),
      health_(record, clock),
      trials_(clock),
      drafts_(record, library, options_.library_folder, clock),
      session_(options_.data_folder / "workshop" / "force_calibration.json", library, shop, options_.press_id,
               clock) {}

Workshop::Calibrating Workshop::calibrating() const {
  const std::lock_guard lock(calibrating_);
  return {session_.running(), session_.asked(), session_.targets_kn()};
}

std::optional<Problem> Workshop::begin(const ForceBegin& begin) {
  const std::lock_guard lock(calibrating_);
  return session_.begin(begin);
}

std::optional<Problem> Workshop::begin_run(const RunBegin& run) {
  const std::lock_guard lock(calibrating_);
  return session_.begin_run(run);
}

std::optional<Problem> Workshop::take(const ReadingTaken& reading, const ports::Snapshot& press,
                                      const std::string& by) {
  const std::lock_guard lock(calibrating_);
  return session_.take(reading, press, by);
}

Result<std::int64_t> Workshop::append(const char* event, std::string body, const std::string& by) {
  ports::NewEntry entry;
  entry.at_utc_us = clock_.utc_us();
  entry.kind = "station";
  entry.event = event;
  entry.actor = by;
  entry.body_json = std::move(body);
  auto written = record_.append({entry});
  if (!written) return Problem{"record", written.problem().text(), "a record that can be written"};
  return written;
}

Result<calibration::ForceCalibration> Workshop::finish(std::optional<std::int64_t> due_day,
                                                       const std::string& by) {
  const std::lock_guard lock(calibrating_);
  auto done = session_.finished(due_day);
  if (!done) return done;
  if (auto written = append(upkeep::calibrated_event, calibration::to_json(done.value()), by); !written)
    return written.problem();
  session_.clear();
  return done;
}

std::optional<Problem> Workshop::leave(const std::string& reason, const std::string& by) {
  const std::lock_guard lock(calibrating_);
  if (!session_.running()) return Problem{"", "no calibration under way", "one to leave"};
  auto body = nlohmann::ordered_json::parse(calibration::to_json(*session_.running()));
  body["reason"] = reason;
  if (auto written = append("force_calibration_left", body.dump(), by); !written) return written.problem();
  session_.clear();
  return std::nullopt;
}

Result<std::vector<DueItem>> Workshop::falls_due() const {
  const auto until = calibrations_.until(options_.press_id);
  if (!until) return until.problem();
  const auto people = people_.all();
  return workshop::falls_due({library_, shop_, people, clock_.utc_us() / us_per_day, options_.press_id,
                              until.value().day, [this](const std::string& die_pair_id) {
                                const auto strokes = record_.strokes_of(die_pair_id);
                                return strokes ? std::optional(strokes.value()) : std::nullopt;
                              }});
}

}  // namespace shankwright::workshop
