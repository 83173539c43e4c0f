#include "history.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "record/serial.hpp"

namespace shankwright::record_test {
namespace {

using ports::NewEntry;

bool same(const NewEntry& left, const NewEntry& right) {
  return left.serial == right.serial && left.kind == right.kind && left.event == right.event &&
         left.actor == right.actor && left.body_json == right.body_json &&
         left.state_json == right.state_json && left.stage == right.stage && left.trace == right.trace;
}

// Entries that the record writes of its own accord.
bool is_the_records_own(const std::string& kind) {
  return kind == "seal" || kind == "seal_key";
}

std::string digest(const ports::FittingRow& row) {
  return fmt::format("{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}|{}", row.serial, row.recipe_id, row.job,
                     row.operator_id, row.rope_lot, row.terminal_lot, row.die_pair_id, row.stage, row.verdict,
                     row.recipe_revision, row.started_utc_us, row.changed_utc_us, row.state_json,
                     row.joined_recipe_json);
}

}  // namespace

std::string History::filling(std::size_t most) {
  return std::string(draw(most), static_cast<char>('a' + draw(26)));
}

NewEntry History::entry(const std::string& serial, const std::string& event, const std::string& stage) {
  NewEntry out;
  out.at_utc_us = ++clock_;
  out.serial = serial;
  out.kind = serial.empty() ? "station" : "evidence";
  out.event = event;
  out.actor = "op-1";
  out.body_json =
      fmt::format(R"({{"number":{},"filling":"{}"}})", clock_, filling(draw(8) == 0 ? 9000 : 400));
  if (!serial.empty()) {
    out.stage = stage;
    out.state_json =
        fmt::format(R"({{"stage":"{}","bites_done":{},"filling":"{}"}})", stage, draw(4), filling(1200));
  }
  return out;
}

NewEntry History::bite(const std::string& serial) {
  auto out = entry(serial, "bite_finished", "position");
  const auto samples = 20 + draw(700);
  for (std::uint32_t index = 0; index < samples; ++index)
    out.trace.push_back(
        {index * 2, static_cast<double>(draw(4000)) / 10.0, static_cast<double>(draw(9000)) / 1000.0});
  return out;
}

bool History::settle(std::vector<NewEntry> entries, const Problem* refused) {
  if (refused == nullptr) {
    ++steps_reported_;
    entries_reported_ += entries.size();
  } else {
    why_ = *refused;
  }
  steps_.push_back({std::move(entries), refused == nullptr});
  return refused == nullptr;
}

bool History::reserve(record::SqliteStore& store) {
  const auto at = ++clock_;
  const auto serial = store.reserve_serial(at);
  NewEntry expected;
  expected.at_utc_us = at;
  expected.kind = "serial";
  if (serial) {
    if (!given_.insert(serial.value()).second) fault_ = "serial " + serial.value() + " was given twice";
    reserved_.push_back(serial.value());
    expected.body_json = R"({"serial":")" + serial.value() + "\"}";
  }
  return settle({expected}, serial ? nullptr : &serial.problem());
}

bool History::open(record::SqliteStore& store, std::string serial) {
  auto admit = entry(serial, "admit", "measure");
  ports::FittingRow row;
  row.serial = serial;
  row.recipe_id = "hexagon-4.8";
  row.recipe_revision = 3;
  row.job = fmt::format("job-{}", draw(5));
  row.operator_id = "op-1";
  row.rope_lot = "rope-lot-a";
  row.terminal_lot = "terminal-lot-b";
  row.die_pair_id = "die-7.95";
  row.started_utc_us = admit.at_utc_us;
  row.joined_recipe_json =
      fmt::format(R"({{"recipe":{{"id":"hexagon-4.8","filling":"{}"}}}})", std::string(2000 + draw(3), 'r'));
  const auto sequence = store.open_fitting(row, admit);
  std::erase(reserved_, serial);
  if (sequence) open_.push_back(serial);
  return settle({admit}, sequence ? nullptr : &sequence.problem());
}

bool History::append(record::SqliteStore& store, std::vector<NewEntry> entries, bool sealed) {
  const auto sequence = sealed ? store.append_and_seal(entries, "release") : store.append(entries);
  return settle(std::move(entries), sequence ? nullptr : &sequence.problem());
}

// What was reported is there for a reader at once. A read that fails counts as a refusal without a step.
bool History::read_between(record::SqliteStore& store) {
  if (open_.empty()) return true;
  const auto& serial = open_[draw(open_.size())];
  const auto entries = store.entries(serial, draw(2) == 0);
  if (!entries) {
    why_ = entries.problem();
    return false;
  }
  std::size_t expected = 0;
  for (const auto& step : steps_)
    for (const auto& written : step.entries) expected += step.reported && written.serial == serial;
  if (entries.value().size() < expected)
    fault_ = fmt::format("a reader sees {} of {} entries of {}", entries.value().size(), expected, serial);
  return true;
}

bool History::step(record::SqliteStore& store) {
  const auto which = draw(20);
  if (open_.empty() || which < 2) {
    if (!reserved_.empty() && which % 2 == 0) return open(store, reserved_[draw(reserved_.size())]);
    return reserve(store);
  }
  const auto serial = open_[draw(open_.size())];
  if (which < 4) return read_between(store);
  if (which < 6) return append(store, {entry("", "started", "")}, false);
  if (which < 9) return append(store, {bite(serial)}, false);
  if (which < 11) {
    std::erase(open_, serial);
    return append(store, {entry(serial, "gauged", "gauge"), entry(serial, "release", "released")}, true);
  }
  std::vector<NewEntry> together;
  for (auto left = 1 + draw(4); left > 0; --left)
    together.push_back(entry(serial, "rope_diameter", "measure"));
  return append(store, std::move(together), false);
}

bool History::whole_fitting(record::SqliteStore& store) {
  if (!reserve(store)) return false;
  const auto serial = reserved_.back();
  return open(store, serial) &&
         append(store, {entry(serial, "rope_diameter", "measure"), entry(serial, "shank", "mark")}, false) &&
         append(store, {entry(serial, "permit_durable", "position")}, false) &&
         append(store, {bite(serial)}, false) &&
         append(store, {entry(serial, "growth", "gauge"), entry(serial, "judged", "accepted")}, false) &&
         append(store, {entry(serial, "release", "released")}, true);
}

std::string History::fault_of(record::SqliteStore& store) {
  if (!fault_.empty()) return fault_;
  const auto report = store.check_chain();
  if (!report) return report.problem().text();
  if (report.value().broken)
    return fmt::format("broken chain at entry {}: {}", report.value().broken->sequence,
                       report.value().broken->what);
  auto serials = store.serials();
  if (!serials) return serials.problem().text();
  auto all = std::move(serials).value();
  all.push_back("");
  std::map<std::int64_t, ports::StoredEntry> found;
  std::set<std::string> on_record;
  for (const auto& serial : all) {
    auto entries = store.entries(serial, true);
    if (!entries) return entries.problem().text();
    for (auto& stored : std::move(entries).value()) {
      if (is_the_records_own(stored.entry.kind)) continue;
      if (stored.entry.kind == "serial" && !on_record.insert(stored.entry.body_json).second)
        return "a serial is on record twice: " + stored.entry.body_json;
      const auto at = stored.entry.at_utc_us;
      if (!found.emplace(at, std::move(stored)).second) return fmt::format("entry {} is there twice", at);
    }
  }
  std::size_t expected = 0;
  std::int64_t before = 0;
  for (auto& step : steps_) {
    const auto there = static_cast<std::size_t>(
        std::count_if(step.entries.begin(), step.entries.end(),
                      [&](const auto& written) { return found.count(written.at_utc_us) > 0; }));
    const auto& first = step.entries.front();
    if (step.reported && there < step.entries.size())
      return fmt::format("lost: {} of {} entries reported as written ({} {})", step.entries.size() - there,
                         step.entries.size(), first.event, first.at_utc_us);
    if (there != 0 && there != step.entries.size())
      return fmt::format("half a step: {} of {} entries ({} {})", there, step.entries.size(), first.event,
                         first.at_utc_us);
    expected += there;
    if (there == 0) continue;
    for (auto& written : step.entries) {
      const auto& stored = found[written.at_utc_us];
      if (stored.sequence <= before) return fmt::format("entry {} out of order", written.at_utc_us);
      before = stored.sequence;
      // A serial that nobody was told is whatever the record says.
      if (written.kind == "serial" && !step.reported) written = stored.entry;
      if (written.kind == "serial" ? stored.entry.body_json != written.body_json
                                   : !same(stored.entry, written))
        return fmt::format("entry {} is not as it was written", written.at_utc_us);
    }
    step.reported = true;
  }
  if (expected != found.size()) return fmt::format("{} entries nobody wrote", found.size() - expected);
  // Steps refused and not found stay away for good: nothing may bring them back later.
  std::erase_if(steps_, [](const Step& step) { return !step.reported; });
  std::erase_if(open_,
                [&](const std::string& serial) { return std::count(all.begin(), all.end(), serial) == 0; });
  return {};
}

std::string History::index_fault_of(record::SqliteStore& store) {
  const auto rows = [&]() -> std::string {
    const auto serials = store.serials();
    if (!serials) return serials.problem().text();
    std::string out;
    for (const auto& serial : serials.value()) {
      const auto row = store.fitting(serial);
      out += row ? digest(row.value()) : row.problem().text();
    }
    return out;
  };
  const auto before = rows();
  const auto rebuilt = store.rebuild_index();
  if (!rebuilt) return rebuilt.problem().text();
  return rows() == before ? std::string() : "the index does not follow from the entries";
}

}  // namespace shankwright::record_test
