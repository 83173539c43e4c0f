#include <fmt/format.h>

#include <limits>
#include <stdexcept>
#include <utility>

#include "record/archive.hpp"
#include "record/serial.hpp"
#include "record/store_parts.hpp"

namespace shankwright::record {
namespace {

// Kinds of entry that only this folder writes.
bool own_kind(const std::string& kind) {
  return kind == serial_kind || kind == seal_kind || kind == seal_key_kind || kind == archive_kind;
}

}  // namespace

Result<std::shared_ptr<SigningKey>> SqliteStore::Parts::signing_key(Ends& moved, std::int64_t at_utc_us) {
  const auto folder = file.parent_path();
  if (key_named) {
    if (key) return key;
    auto loaded = load_key(folder, *key_named);
    if (loaded) key = loaded.value();
    return loaded;
  }
  auto made = make_key(folder);
  if (!made) return made.problem();
  moved.head = writer->append(moved.head, key_made(made.value()->public_key(), at_utc_us), "");
  return made;
}

void SqliteStore::Parts::seal(Ends& moved, const SigningKey& with, const std::string& why,
                              std::int64_t at_utc_us) {
  moved.head =
      writer->append(moved.head, seal_entry(with, moved.head.sequence, moved.head.hash, why, at_utc_us), "");
}

// After a seal is durable. A second place that is away for a while stops no work: it is caught up with later.
void SqliteStore::Parts::export_heads() {
  const std::lock_guard guard(writing);  // by the writer's connection: a long read must not hold up a release
  if (!heads.kept()) return;
  std::optional<Problem> trouble;
  try {
    trouble = heads.catch_up(*write_connection, part_files);
  } catch (const SQLite::Exception& error) {
    trouble = problem_of(error, file);
  } catch (const std::runtime_error& error) {
    trouble = Problem{file.string(), error.what(), "the whole record, its closed files too"};
  }
  const std::lock_guard telling(trouble_mutex);
  heads_trouble = std::move(trouble);
}

Result<std::int64_t> SqliteStore::Parts::append(Ends& moved, const std::vector<ports::NewEntry>& entries) {
  for (const auto& entry : entries) {
    if (own_kind(entry.kind)) throw std::logic_error("an entry of a kind that only the record itself writes");
    if (!entry.serial.empty() && !writer->index().serial_is_reserved(entry.serial))
      return unknown_serial(fmt::format("an entry about \"{}\", a serial never given", entry.serial));
    moved.head = writer->append(moved.head, entry, "");
  }
  return moved.head.sequence;
}

Result<std::int64_t> SqliteStore::append(const std::vector<ports::NewEntry>& entries) {
  return parts_->write([&](Parts::Ends& ends) { return parts_->append(ends, entries); });
}

Result<std::int64_t> SqliteStore::append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                  const std::string& why) {
  std::shared_ptr<SigningKey> key;
  auto sealed = parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    auto appended = parts_->append(ends, entries);
    if (!appended) return appended.problem();
    const auto at_utc_us = entries.empty() ? parts_->writer->newest_instant() : entries.back().at_utc_us;
    const auto found = parts_->signing_key(ends, at_utc_us);
    if (!found) return found.problem();
    key = found.value();
    parts_->seal(ends, *key, why, at_utc_us);
    return appended;
  });
  if (!sealed) return sealed;
  parts_->remember_key(key);
  parts_->export_heads();
  return sealed;
}

std::optional<Problem> SqliteStore::heads_trouble() const {
  const std::lock_guard guard(parts_->trouble_mutex);
  return parts_->heads_trouble;
}

Result<PublicKey> SqliteStore::rotate_key(const std::string& actor, const std::string& reason,
                                          std::int64_t at_utc_us, bool old_key_lost) {
  if (!parts_->key_named)
    return Problem{parts_->file.string(), "a record that has never been sealed",
                   "a record with a signing key"};
  const auto old_public = *parts_->key_named;
  std::shared_ptr<SigningKey> made;
  const auto rotated = parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    std::shared_ptr<SigningKey> old_key;
    if (!old_key_lost) {
      const auto found = parts_->signing_key(ends, at_utc_us);
      if (!found) return found.problem();
      old_key = found.value();
      parts_->seal(ends, *old_key, "key_change", at_utc_us);
    }
    auto fresh = make_key(parts_->file.parent_path());
    if (!fresh) return fresh.problem();
    made = fresh.value();
    ends.head = parts_->writer->append(
        ends.head, key_rotated(*made, old_key.get(), old_public, reason, actor, at_utc_us), "");
    parts_->seal(ends, *made, "key_change", at_utc_us);
    return ends.head.sequence;
  });
  if (!rotated) return rotated.problem();
  parts_->remember_key(made);
  parts_->export_heads();
  if (const auto problem = drop_other_secrets(parts_->file.parent_path(), made->public_key()))
    return *problem;
  return made->public_key();
}

Result<std::string> SqliteStore::reserve_serial(std::int64_t at_utc_us) {
  return parts_->write([&](Parts::Ends& ends) -> Result<std::string> {
    auto serial = serial_of(++ends.serial_number);
    ends.head = parts_->writer->append(ends.head, reservation(serial, at_utc_us), "");
    return serial;
  });
}

Result<std::int64_t> SqliteStore::open_fitting(const ports::FittingRow& row, const ports::NewEntry& admit) {
  if (row.serial != admit.serial)
    throw std::logic_error("the first entry belongs to another serial than the fitting");
  return parts_->write([&](Parts::Ends& ends) -> Result<std::int64_t> {
    if (!parts_->writer->index().serial_is_reserved(row.serial))
      return unknown_serial(fmt::format("a fitting \"{}\", a serial never given", row.serial));
    const auto document = parts_->writer->keep_document(row.joined_recipe_json);
    const auto opening = opening_json(row, hex(document));
    if (!opening.ok()) return opening.problem();
    auto entry = admit;
    if (entry.stage.empty()) entry.stage = row.stage;
    if (entry.state_json.empty()) entry.state_json = row.state_json;
    ends.head = parts_->writer->append(ends.head, entry, opening.value());
    return ends.head.sequence;
  });
}

std::optional<Problem> SqliteStore::finish_filling() {
  const std::lock_guard guard(parts_->writing);
  if (!parts_->filling || parts_->in_doubt) return parts_->in_doubt;
  try {
    parts_->end_batch();
    parts_->write_connection->exec("INSERT INTO texts (texts) VALUES ('optimize')");
    parts_->write_connection->exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;");
    parts_->filling = false;
    return std::nullopt;
  } catch (const SQLite::Exception& error) {
    return problem_of(error, parts_->file);
  }
}

Result<std::int64_t> SqliteStore::rebuild_index() {
  return parts_->write([&](Parts::Ends&) -> Result<std::int64_t> {
    auto& index = parts_->writer->index();
    index.clear();
    std::int64_t applied = 0;
    // The live file by the writing connection: no reader would see what this transaction has cleared.
    parts_->part_files.each(*parts_->write_connection, 1, std::numeric_limits<std::int64_t>::max(),
                            [&](SQLite::Database& database) { applied += index.apply_all(database); });
    return applied;
  });
}

}  // namespace shankwright::record
