#include "record/writer.hpp"

#include "record/parts.hpp"
#include "record/state_patch.hpp"
#include "record/statement.hpp"
#include "record/trace_codec.hpp"

namespace shankwright::record {
Writer::Writer(SQLite::Database& database)
    : database_(database),
      entry_(
          database,
          "INSERT INTO entries (sequence, at_utc_us, serial, kind, event, actor, body_json, state_json, "
          "stage,"
          " opening_json, trace_hash, previous_hash, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"),
      trace_(database, "INSERT INTO traces (sequence, samples, bytes) VALUES (?, ?, ?)"),
      document_(database,
                "INSERT INTO documents (hash, content) SELECT ?1, ?2"
                " WHERE NOT EXISTS (SELECT 1 FROM documents WHERE hash = ?1)"),
      index_(database) {}

Head Writer::newest() {
  SQLite::Statement last(database_, "SELECT sequence, hash FROM entries ORDER BY sequence DESC LIMIT 1");
  if (!last.executeStep()) {
    const auto base = chain_base(database_);
    return {base.sequence, base.hash};
  }
  const auto hash = last.getColumn(1);
  return {
      last.getColumn(0).getInt64(),
      as_hash({static_cast<const char*>(hash.getBlob()), static_cast<std::size_t>(hash.getBytes())}).value()};
}

std::int64_t Writer::newest_serial_number() {
  return database_.execAndGet("SELECT coalesce(max(number), 0) FROM serials").getInt64();
}

std::int64_t Writer::newest_instant() {
  return database_
      .execAndGet("SELECT coalesce((SELECT at_utc_us FROM entries ORDER BY sequence DESC LIMIT 1), 0)")
      .getInt64();
}

Head Writer::append(const Head& head, const ports::NewEntry& entry, const std::string& opening_json) {
  const auto sequence = head.sequence + 1;
  const auto trace = entry.trace.empty() ? std::string() : encode_trace(entry.trace);
  const auto trace_hash = entry.trace.empty() ? Hash{} : hash_of(trace);
  const bool changes = opening_json.empty() && !entry.serial.empty() && !entry.state_json.empty();
  const auto before = changes ? index_.state_of(entry.serial) : std::string();
  const auto state = before.empty() ? entry.state_json : stored_state(before, entry.state_json);
  HashedFields fields{sequence,        entry.at_utc_us, entry.serial, entry.kind,   entry.event, entry.actor,
                      entry.body_json, state,           entry.stage,  opening_json, {}};
  if (!entry.trace.empty()) fields.trace_hash = bytes_of(trace_hash);
  const auto hash = entry_hash(head.hash, fields);
  {
    const Reset reset{entry_};
    entry_.bind(1, sequence);
    entry_.bind(2, entry.at_utc_us);
    entry_.bindNoCopy(3, entry.serial);
    entry_.bindNoCopy(4, entry.kind);
    entry_.bindNoCopy(5, entry.event);
    entry_.bindNoCopy(6, entry.actor);
    entry_.bindNoCopy(7, entry.body_json);
    entry_.bindNoCopy(8, state);
    entry_.bindNoCopy(9, entry.stage);
    entry_.bindNoCopy(10, opening_json);
    if (entry.trace.empty())
      entry_.bind(11);
    else
      entry_.bindNoCopy(11, trace_hash.data(), static_cast<int>(trace_hash.size()));
    entry_.bindNoCopy(12, head.hash.data(), static_cast<int>(head.hash.size()));
    entry_.bindNoCopy(13, hash.data(), static_cast<int>(hash.size()));
    entry_.exec();
  }
  if (!entry.trace.empty()) {
    const Reset reset{trace_};
    trace_.bind(1, sequence);
    trace_.bind(2, static_cast<std::int64_t>(entry.trace.size()));
    trace_.bindNoCopy(3, trace.data(), static_cast<int>(trace.size()));
    trace_.exec();
  }
  index_.apply(sequence, entry, opening_json);
  return {sequence, hash};
}

Hash Writer::keep_document(const std::string& content) {
  const auto hash = hash_of(content);
  const Reset reset{document_};
  document_.bindNoCopy(1, hash.data(), static_cast<int>(hash.size()));
  document_.bindNoCopy(2, content);
  document_.exec();
  return hash;
}

}  // namespace shankwright::record
