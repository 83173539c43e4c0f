#include <fmt/format.h>

#include <iterator>
#include <limits>
#include <utility>

#include "record/serial.hpp"
#include "record/state_patch.hpp"
#include "record/store_parts.hpp"
#include "record/trace_codec.hpp"

namespace shankwright::record {
namespace {

std::string written_as(const std::string& typed) {
  const auto number = number_of(typed);
  return number ? serial_of(*number) : typed;
}

}  // namespace

bool is_unknown_serial(const Problem& problem) {
  return problem.place == unknown_serial_place;
}

// Every file that holds entries about the serial, oldest first, with whole states in place of stored changes.
std::vector<PackedEntry> SqliteStore::Parts::packed_entries(SQLite::Database& live, const std::string& serial,
                                                            bool with_traces) {
  std::vector<PackedEntry> out;
  const auto add = [&](SQLite::Database& database) {
    auto found = read_entries(database, serial, with_traces);
    std::move(found.begin(), found.end(), std::back_inserter(out));
  };
  const auto range = serial.empty() ? std::nullopt : read_entry_range(live, serial);
  if (range)
    part_files.each(live, range->opened, range->last, add);
  else
    part_files.each(live, 1, std::numeric_limits<std::int64_t>::max(), add);
  std::string state;
  for (auto& packed : out) {
    auto& text = packed.stored.entry.state_json;
    if (text.empty() || serial.empty()) continue;
    state = state_after(state, text);
    text = state;
  }
  return out;
}

Result<std::vector<ports::FittingRow>> SqliteStore::open_fittings() const {
  return parts_->read([](SQLite::Database& database) { return read_open_fittings(database); });
}

Result<std::vector<ports::FittingRow>> SqliteStore::find(const ports::FittingFilter& filter) const {
  const auto after =
      filter.after_serial.empty() ? std::int64_t{0} : number_of(filter.after_serial).value_or(-1);
  if (after < 0)
    return Problem{"after", "\"" + filter.after_serial + "\"", "a whole serial, for example " + serial_of(1)};
  return parts_->read([&](SQLite::Database& database) { return read_fittings(database, filter, after); });
}

Result<std::int64_t> SqliteStore::each_fitting(
    const ports::FittingFilter& filter, const std::function<bool(const ports::FittingRow&)>& visit) const {
  // Now and then a fresh look: a reader that takes its time must not keep the journal from being written
  // back.
  constexpr int rows_a_look = 20'000;
  std::int64_t after = 0, visited = 0;
  try {
    const auto connection = connect_reader(parts_->file);
    ports::FittingRow row;
    for (bool more = true; more;) {
      FittingCursor cursor(*connection, filter, after);
      more = false;
      for (int looked = 0; looked < rows_a_look && cursor.next(); ++looked) {
        cursor.read(row);
        ++visited;
        if (!visit(row)) return visited;
        after = cursor.number();
        more = looked + 1 == rows_a_look;
      }
    }
  } catch (const SQLite::Exception& error) {
    return problem_of(error, parts_->file);
  } catch (const std::runtime_error& error) {
    return Problem{parts_->file.string(), error.what(), "a record whose index follows from its entries"};
  }
  return visited;
}

Result<ports::FittingRow> SqliteStore::fitting(const std::string& typed) const {
  const auto serial = written_as(typed);
  const auto row = parts_->read([&](SQLite::Database& database) {
    if (!parts_->lookup) parts_->lookup = std::make_unique<FittingLookup>(database);
    return parts_->lookup->find(serial);
  });
  if (!row.ok()) return row.problem();
  if (row.value()) return *row.value();
  const auto reserved =
      parts_->read([&](SQLite::Database& database) { return serial_is_reserved(database, serial); });
  if (!reserved.ok()) return reserved.problem();
  if (reserved.value()) return unknown_serial(fmt::format("{}, given but never begun", serial));
  return unknown_serial(fmt::format("\"{}\"", typed));
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries(const std::string& typed,
                                                             bool with_traces) const {
  const auto packed = parts_->read(
      [&](SQLite::Database& live) { return parts_->packed_entries(live, written_as(typed), with_traces); });
  if (!packed.ok()) return packed.problem();
  std::vector<ports::StoredEntry> out;
  out.reserve(packed.value().size());
  for (const auto& [stored, trace, trace_hash] : packed.value()) {
    out.push_back(stored);
    if (!with_traces || (trace.empty() && trace_hash.empty())) continue;
    const auto place = fmt::format("{}, entry {}", parts_->file.string(), stored.sequence);
    if (bytes_of(hash_of(trace)) != trace_hash)
      return Problem{place, "a trace that does not match its hash", "the trace as the station wrote it"};
    const auto samples = decode_trace(trace);
    if (!samples.ok()) return Problem{place, samples.problem().found, samples.problem().expected};
    out.back().entry.trace = samples.value();
  }
  return out;
}

Result<ports::Seal> SqliteStore::seal_over(const std::string& typed) const {
  const auto row = fitting(typed);
  if (!row) return row.problem();
  const auto seal = parts_->read([&](SQLite::Database& live) {
    const auto range = read_entry_range(live, row.value().serial);
    std::optional<ports::StoredEntry> found;
    const auto look = [&](SQLite::Database& database) {
      if (!found) found = read_first_of_kind_after(database, std::string(seal_kind), range->last);
    };
    parts_->part_files.each(live, range->last, std::numeric_limits<std::int64_t>::max(), look);
    return found;
  });
  if (!seal) return seal.problem();
  if (!seal.value())
    return Problem{
        "seal", "no seal over the newest entry about " + row.value().serial,
        "a sealed record: the station seals at every release, at the end of a shift and when it stops"};
  return read_seal(seal.value()->entry);
}

Result<std::vector<ports::StoredEntry>> SqliteStore::entries_of_kind(const std::string& kind,
                                                                     std::int64_t after_sequence) const {
  return parts_->read([&](SQLite::Database& live) {
    std::vector<ports::StoredEntry> out;
    const auto add = [&](SQLite::Database& database) {
      auto found = read_entries_of_kind(database, kind, after_sequence);
      std::move(found.begin(), found.end(), std::back_inserter(out));
    };
    parts_->part_files.each(live, after_sequence + 1, std::numeric_limits<std::int64_t>::max(), add);
    return out;
  });
}

Result<std::uint64_t> SqliteStore::strokes_of(const std::string& die_pair_id) const {
  return parts_->read([&](SQLite::Database& database) { return read_strokes(database, die_pair_id); });
}

Result<std::uint64_t> SqliteStore::free_bytes() const {
  std::error_code error;
  const auto space = std::filesystem::space(parts_->file.parent_path(), error);
  if (error) return Problem{parts_->file.string(), error.message(), "a disk that says how much room it has"};
  return static_cast<std::uint64_t>(space.available);
}

Result<std::vector<std::string>> SqliteStore::serials_near(const std::string& typed) const {
  return parts_->read([&](SQLite::Database& database) { return read_serials_near(database, typed); });
}

Result<std::vector<std::string>> SqliteStore::serials() const {
  return parts_->read([](SQLite::Database& database) { return read_serials(database); });
}

Result<ChainReport> SqliteStore::check_chain(std::int64_t first) const {
  return parts_->read([&](SQLite::Database& database) { return record::check_chain(database, first); });
}

}  // namespace shankwright::record
