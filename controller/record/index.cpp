#include "record/index.hpp"

#include <nlohmann/json.hpp>

#include <stdexcept>
#include <utility>

#include "record/chain.hpp"
#include "record/serial.hpp"
#include "record/statement.hpp"

namespace shankwright::record {
namespace {

using nlohmann::json;

json own_json(const std::string& text, std::int64_t sequence) {
  auto parsed = json::parse(text, nullptr, false);
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

std::string verdict_of(std::string_view stage, const StateFacts& state) {
  if (stage == "scrapped") return "scrapped";
  if (stage == "hold") return "held";
  if (stage != "accepted" && stage != "released") return "open";
  return state.re_pressed ? "re-pressed" : "accepted";
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
          " opened_sequence, last_sequence, bites_done, texts)"
          " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0, 0)"),
      current_(database,
               "SELECT f.number, f.stage, f.verdict, f.die_pair_id, f.bites_done, f.texts, s.state_json"
               " FROM fitting_index f JOIN fitting_states s USING (number) WHERE f.serial = ?"),
      change_(database,
              "UPDATE fitting_index SET changed_utc_us = ?, stage = ?, verdict = ?, last_sequence = ?,"
              " bites_done = ?, texts = ? WHERE number = ?"),
      state_(database,
             "INSERT INTO fitting_states (number, state_json) VALUES (?, ?)"
             " ON CONFLICT (number) DO UPDATE SET state_json = excluded.state_json"),
      strokes_(database,
               "INSERT INTO die_strokes (die_pair_id, strokes) VALUES (?, ?)"
               " ON CONFLICT (die_pair_id) DO UPDATE SET strokes = strokes + excluded.strokes"),
      start_(database,
             "INSERT INTO start_blocks (block, least_utc_us, most_utc_us) VALUES (?1, ?2, ?2)"
             " ON CONFLICT (block) DO UPDATE SET least_utc_us = min(least_utc_us, ?2),"
             " most_utc_us = max(most_utc_us, ?2)"),
      text_(database, "INSERT INTO texts (rowid, words) VALUES (?, ?)"),
      sets_(database) {}

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
  const auto told = own_json(opening, sequence);
  const auto text = [&](const char* key) { return told.value(key, ""); };
  const auto document = from_hex(text("document"));
  if (!document) throw std::runtime_error("entry " + std::to_string(sequence) + " names no document");
  Fitting fitting;
  fitting.number = number_of(entry.serial).value_or(0);
  fitting.stage = entry.stage;
  fitting.state = RunningState(entry.state_json);
  fitting.state_changed = true;
  fitting.verdict = verdict_of(entry.stage, facts_of_state(fitting.state.value()));
  fitting.die_pair = text("die_pair");
  const auto started_utc_us = told.value("started_utc_us", std::int64_t{0});
  {
    const Reset reset{open_};
    open_.bind(1, fitting.number);
    open_.bind(2, entry.serial);
    open_.bind(3, text("recipe"));
    open_.bind(4, told.value("revision", std::uint32_t{0}));
    open_.bind(5, text("job"));
    open_.bind(6, text("operator"));
    open_.bind(7, text("rope_lot"));
    open_.bind(8, text("terminal_lot"));
    open_.bind(9, fitting.die_pair);
    open_.bind(10, document->data(), static_cast<int>(document->size()));
    open_.bind(11, started_utc_us);
    open_.bind(12, entry.at_utc_us);
    open_.bind(13, fitting.stage);
    open_.bind(14, fitting.verdict);
    open_.bind(15, sequence);
    open_.bind(16, sequence);
    open_.exec();
  }
  std::string words;
  for (const auto& [name, key] :
       std::initializer_list<std::pair<std::string_view, const char*>>{{field::recipe, "recipe"},
                                                                       {field::job, "job"},
                                                                       {field::actor, "operator"},
                                                                       {field::rope_lot, "rope_lot"},
                                                                       {field::terminal_lot, "terminal_lot"},
                                                                       {field::die_pair, "die_pair"}}) {
    const auto value = text(key);
    if (value.empty()) continue;
    sets_.insert(name, value, fitting.number);
    words += value + '\n';
  }
  sets_.insert(field::verdict, fitting.verdict, fitting.number);
  const Reset reset{start_};
  start_.bind(1, fitting.number / start_block_numbers);
  start_.bind(2, started_utc_us);
  start_.exec();
  follow(fitting, entry, std::move(words));
  fitting.changed_utc_us = entry.at_utc_us;
  fitting.last_sequence = sequence;
  keep(fitting);
}

std::string Index::state_of(const std::string& serial) {
  const Reset reset{current_};
  current_.bindNoCopy(1, serial);
  return current_.executeStep() ? current_.getColumn(6).getString() : "";
}

std::optional<Index::Fitting> Index::read(const std::string& serial) {
  const Reset reset{current_};
  current_.bindNoCopy(1, serial);
  if (!current_.executeStep()) return std::nullopt;
  Fitting fitting;
  fitting.number = current_.getColumn(0).getInt64();
  fitting.stage = current_.getColumn(1).getString();
  fitting.verdict = current_.getColumn(2).getString();
  fitting.die_pair = current_.getColumn(3).getString();
  fitting.bites = current_.getColumn(4).getInt64();
  fitting.texts = current_.getColumn(5).getInt64();
  fitting.state = RunningState(current_.getColumn(6).getString());
  return fitting;
}

// An entry about a serial without a fitting stands for itself.
void Index::apply_change(std::int64_t sequence, const ports::NewEntry& entry) {
  auto fitting = read(entry.serial);
  if (!fitting) return;
  change(*fitting, sequence, entry);
  keep(*fitting);
}

void Index::change(Fitting& fitting, std::int64_t sequence, const ports::NewEntry& entry) {
  if (!entry.stage.empty()) fitting.stage = entry.stage;
  if (!entry.state_json.empty()) {
    fitting.state.follow(entry.state_json);
    fitting.state_changed = true;
  }
  if (!entry.state_json.empty() || !entry.stage.empty()) {
    auto verdict = verdict_of(fitting.stage, facts_of_state(fitting.state.value()));
    if (verdict != fitting.verdict) {
      sets_.erase(field::verdict, fitting.verdict, fitting.number);
      sets_.insert(field::verdict, verdict, fitting.number);
      fitting.verdict = std::move(verdict);
    }
  }
  follow(fitting, entry, "");
  fitting.changed_utc_us = entry.at_utc_us;
  fitting.last_sequence = sequence;
}

void Index::tell(Fitting& fitting, std::string_view field, const std::string& value) {
  if (fitting.told.insert(std::string(field) + '\n' + value).second)
    sets_.insert(field, value, fitting.number);
}

// What any entry about a fitting adds to what can be searched for.
void Index::follow(Fitting& fitting, const ports::NewEntry& entry, std::string words) {
  const auto facts = facts_of(entry.body_json);
  // As in a dossier: a reading that was refused is not what the fitting rests on.
  if (!facts.gauge.empty() && entry.kind != "refused") tell(fitting, field::gauge, facts.gauge);
  for (const auto& code : facts.findings) tell(fitting, field::finding, code);
  for (const auto& text : facts.texts) words += text + '\n';
  if (!words.empty() && fitting.texts < std::int64_t{1} << text_bits) {
    const Reset reset{text_};
    text_.bind(1, (fitting.number << text_bits) + fitting.texts++);
    text_.bindNoCopy(2, words);
    text_.exec();
  }
  if (entry.state_json.empty()) return;
  const auto bites = facts_of_state(fitting.state.value()).bites_done;
  if (bites == fitting.bites) return;
  const Reset reset{strokes_};
  strokes_.bind(1, fitting.die_pair);
  strokes_.bind(2, bites - fitting.bites);
  strokes_.exec();
  fitting.bites = bites;
}

void Index::keep(Fitting& fitting) {
  if (fitting.state_changed) {
    const auto text = fitting.state.text();
    const Reset reset{state_};
    state_.bind(1, fitting.number);
    state_.bindNoCopy(2, text);
    state_.exec();
  }
  const Reset reset{change_};
  change_.bind(1, fitting.changed_utc_us);
  change_.bindNoCopy(2, fitting.stage);
  change_.bindNoCopy(3, fitting.verdict);
  change_.bind(4, fitting.last_sequence);
  change_.bind(5, fitting.bites);
  change_.bind(6, fitting.texts);
  change_.bind(7, fitting.number);
  change_.exec();
}

void Index::clear() {
  database_.exec(
      "DELETE FROM fitting_states; DELETE FROM fitting_index; DELETE FROM serials; DELETE FROM start_blocks;"
      " DELETE FROM die_strokes; INSERT INTO texts (texts) VALUES ('delete-all');");
  sets_.clear();
}

std::int64_t Index::apply_all(SQLite::Database& entries, const std::function<void()>& each) {
  constexpr std::size_t most_in_work = 1000;
  SQLite::Statement all(
      entries,
      "SELECT sequence, at_utc_us, serial, kind, event, actor, body_json, state_json, stage,"
      " opening_json FROM entries ORDER BY sequence");
  const auto keep_all = [&] {
    for (auto& [serial, fitting] : in_work_) keep(fitting);
    in_work_.clear();
  };
  std::int64_t applied = 0;
  for (; all.executeStep(); ++applied) {
    if (each) each();
    const auto sequence = all.getColumn(0).getInt64();
    ports::NewEntry entry;
    entry.at_utc_us = all.getColumn(1).getInt64();
    entry.serial = all.getColumn(2).getString();
    entry.kind = all.getColumn(3).getString();
    entry.event = all.getColumn(4).getString();
    entry.actor = all.getColumn(5).getString();
    entry.body_json = all.getColumn(6).getString();
    entry.state_json = all.getColumn(7).getString();
    entry.stage = all.getColumn(8).getString();
    const auto opening = all.getColumn(9).getString();
    if (entry.serial.empty() || entry.kind == serial_kind || !opening.empty()) {
      apply(sequence, entry, opening);
      continue;
    }
    auto found = in_work_.find(entry.serial);
    if (found == in_work_.end()) {
      auto fitting = read(entry.serial);
      if (!fitting) continue;
      if (in_work_.size() >= most_in_work) keep_all();
      found = in_work_.emplace(entry.serial, std::move(*fitting)).first;
    }
    change(found->second, sequence, entry);
  }
  keep_all();
  return applied;
}

}  // namespace shankwright::record
