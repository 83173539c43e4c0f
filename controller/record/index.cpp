#include "record/index.hpp"

#include <nlohmann/json.hpp>

#include <stdexcept>

#include "record/chain.hpp"
#include "record/serial.hpp"
#include "record/state_patch.hpp"

namespace shankwright::record {
namespace {

using nlohmann::json;

// sqlite keeps the statement's locks until it is reset, and a failed step leaves it unreset.
struct Reset {
  SQLite::Statement& statement;
  ~Reset() { (void)statement.tryReset(); }
};

json own_json(const std::string& text, std::int64_t sequence) {
  const auto parsed = json::parse(text, nullptr, false);
  if (!parsed.is_object())
    throw std::runtime_error("entry " + std::to_string(sequence) + " does not read as JSON");
  return parsed;
}

}  // namespace

ports::NewEntry reservation(const std::string& serial, std::int64_t at_utc_us) {
  ports::NewEntry entry;
  entry.at_utc_us = at_utc_us;
  entry.kind = serial_kind;
  entry.event = "serial_reserved";
  entry.actor = "station";
  entry.body_json = json{{"serial", serial}}.dump();
  return entry;
}

std::string verdict_of(std::string_view stage, std::string_view state_json) {
  if (stage == "scrapped") return "scrapped";
  if (stage == "hold") return "held";
  if (stage != "accepted" && stage != "released") return "open";
  const auto state = json::parse(state_json, nullptr, false);
  const auto re_presses = state.is_object() ? state.find("re_presses") : state.end();
  const bool again =
      state.is_object() && re_presses != state.end() && re_presses->is_number() && *re_presses > 0;
  return again ? "re-pressed" : "accepted";
}

Result<std::string> opening_json(const ports::FittingRow& row, std::string_view document_hash_hex) {
  try {
    return json{{"serial", row.serial},
                {"recipe", row.recipe_id},
                {"revision", row.recipe_revision},
                {"job", row.job},
                {"operator", row.operator_id},
                {"rope_lot", row.rope_lot},
                {"terminal_lot", row.terminal_lot},
                {"die_pair", row.die_pair_id},
                {"started_utc_us", row.started_utc_us},
                {"document", document_hash_hex}}
        .dump();
  } catch (const json::exception&) {
    return Problem{"fitting", "text that is not UTF-8", "job, lots and names in UTF-8"};
  }
}

Index::Index(SQLite::Database& database)
    : database_(database),
      reserve_(database, "INSERT INTO serials (number, serial, sequence) VALUES (?, ?, ?)"),
      reserved_(database, "SELECT 1 FROM serials WHERE serial = ?"),
      open_(
          database,
          "INSERT INTO fitting_index (number, serial, recipe_id, recipe_revision, job, operator_id, rope_lot,"
          " terminal_lot, die_pair_id, document_hash, started_utc_us, changed_utc_us, stage, verdict,"
          " opened_sequence, last_sequence, state_json)"
          " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"),
      current_(database, "SELECT number, stage, state_json FROM fitting_index WHERE serial = ?"),
      change_(database,
              "UPDATE fitting_index SET changed_utc_us = ?, stage = ?, verdict = ?, last_sequence = ?,"
              " state_json = ? WHERE number = ?"),
      touch_(database, "UPDATE fitting_index SET changed_utc_us = ?, last_sequence = ? WHERE number = ?") {}

void Index::apply(std::int64_t sequence, const ports::NewEntry& entry, const std::string& opening) {
  if (entry.kind == serial_kind)
    apply_reservation(sequence, entry);
  else if (!opening.empty())
    apply_opening(sequence, entry, opening);
  else if (!entry.serial.empty())
    apply_change(sequence, entry);
}

bool Index::serial_is_reserved(const std::string& serial) {
  const Reset reset{reserved_};
  reserved_.bind(1, serial);
  return reserved_.executeStep();
}

void Index::apply_reservation(std::int64_t sequence, const ports::NewEntry& entry) {
  const auto serial = own_json(entry.body_json, sequence).value("serial", "");
  const auto number = number_of(serial);
  if (!number) throw std::runtime_error("entry " + std::to_string(sequence) + " reserves no valid serial");
  const Reset reset{reserve_};
  reserve_.bind(1, *number);
  reserve_.bind(2, serial);
  reserve_.bind(3, sequence);
  reserve_.exec();
}

void Index::apply_opening(std::int64_t sequence, const ports::NewEntry& entry, const std::string& opening) {
  const auto facts = own_json(opening, sequence);
  const auto text = [&](const char* key) { return facts.value(key, ""); };
  const auto document = from_hex(text("document"));
  if (!document) throw std::runtime_error("entry " + std::to_string(sequence) + " names no document");
  const Reset reset{open_};
  open_.bind(1, number_of(entry.serial).value_or(0));
  open_.bind(2, entry.serial);
  open_.bind(3, text("recipe"));
  open_.bind(4, facts.value("revision", std::uint32_t{0}));
  open_.bind(5, text("job"));
  open_.bind(6, text("operator"));
  open_.bind(7, text("rope_lot"));
  open_.bind(8, text("terminal_lot"));
  open_.bind(9, text("die_pair"));
  open_.bind(10, document->data(), static_cast<int>(document->size()));
  open_.bind(11, facts.value("started_utc_us", std::int64_t{0}));
  open_.bind(12, entry.at_utc_us);
  open_.bind(13, entry.stage);
  open_.bind(14, verdict_of(entry.stage, entry.state_json));
  open_.bind(15, sequence);
  open_.bind(16, sequence);
  open_.bindNoCopy(17, entry.state_json);
  open_.exec();
}

std::string Index::state_of(const std::string& serial) {
  const Reset reset{current_};
  current_.bindNoCopy(1, serial);
  return current_.executeStep() ? current_.getColumn(2).getString() : "";
}

void Index::apply_change(std::int64_t sequence, const ports::NewEntry& entry) {
  std::int64_t number = 0;
  std::string stage, state;
  {
    const Reset reset{current_};
    current_.bindNoCopy(1, entry.serial);
    if (!current_.executeStep()) return;  // reserved, but no fitting was opened: the entry stands for itself
    number = current_.getColumn(0).getInt64();
    stage = current_.getColumn(1).getString();
    if (entry.state_json.empty()) state = current_.getColumn(2).getString();
  }
  if (entry.state_json.empty() && entry.stage.empty()) {
    const Reset reset{touch_};
    touch_.bind(1, entry.at_utc_us);
    touch_.bind(2, sequence);
    touch_.bind(3, number);
    touch_.exec();
    return;
  }
  if (!entry.state_json.empty()) state = entry.state_json;
  if (!entry.stage.empty()) stage = entry.stage;
  const Reset reset{change_};
  change_.bind(1, entry.at_utc_us);
  change_.bindNoCopy(2, stage);
  change_.bind(3, verdict_of(stage, state));
  change_.bind(4, sequence);
  change_.bindNoCopy(5, state);
  change_.bind(6, number);
  change_.exec();
}

void Index::clear() {
  database_.exec("DELETE FROM fitting_index; DELETE FROM serials;");
}

std::int64_t Index::apply_all(SQLite::Database& entries) {
  SQLite::Statement all(
      entries,
      "SELECT sequence, at_utc_us, serial, kind, event, actor, body_json, state_json, stage,"
      " opening_json FROM entries ORDER BY sequence");
  std::int64_t applied = 0;
  for (; all.executeStep(); ++applied) {
    ports::NewEntry entry;
    entry.at_utc_us = all.getColumn(1).getInt64();
    entry.serial = all.getColumn(2).getString();
    entry.kind = all.getColumn(3).getString();
    entry.event = all.getColumn(4).getString();
    entry.actor = all.getColumn(5).getString();
    entry.body_json = all.getColumn(6).getString();
    entry.stage = all.getColumn(8).getString();
    const auto opening = all.getColumn(9).getString();
    const auto stored = all.getColumn(7).getString();
    if (!stored.empty() && !entry.serial.empty())
      entry.state_json = state_after(opening.empty() ? state_of(entry.serial) : "", stored);
    apply(all.getColumn(0).getInt64(), entry, opening);
  }
  return applied;
}

}  // namespace shankwright::record
