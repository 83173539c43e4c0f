#include "record/verify.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <functional>
#include <vector>

#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/heads_file.hpp"
#include "record/index_check.hpp"
#include "record/integrity.hpp"
#include "record/part_files.hpp"
#include "record/seal_walk.hpp"

namespace shankwright::record {
namespace {

// "entry 17 (bite_finished of SW-000002-QG, by station, 2031-05-04T13:59:07Z)", as far as the file says so.
std::string entry_in_words(SQLite::Database& database, std::int64_t sequence) {
  SQLite::Statement row(database, "SELECT event, serial, actor, at_utc_us FROM entries WHERE sequence = ?");
  row.bind(1, sequence);
  if (!row.executeStep()) return fmt::format("Entry {}", sequence);
  const auto at = row.getColumn(3).getInt64() / 1'000'000;
  const auto serial = row.getColumn(1).getString();
  const bool plausible = at >= 0 && at < 253'402'300'800;  // year 9999: an altered instant may be anything
  return fmt::format("Entry {} ({}{}, by {}{})", sequence, row.getColumn(0).getString(),
                     serial.empty() ? "" : " of " + serial, row.getColumn(2).getString(),
                     plausible
                         ? fmt::format(", {:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(static_cast<std::time_t>(at)))
                         : std::string());
}

// SQLite takes a file's pages in the order of its tables, at 20 MB a second where the disk likes one long
// read better (and gave 490). Read once from end to end they come from memory afterwards, where it has the
// room. By SQLite's own handle: closing another one in this process would let go of a station's locks.
void read_ahead(SQLite::Database& database, VerifyWatcher& watcher) {
  sqlite3_file* file = nullptr;
  sqlite3_int64 bytes = 0;
  if (sqlite3_file_control(database.getHandle(), "main", SQLITE_FCNTL_FILE_POINTER, &file) != SQLITE_OK ||
      file == nullptr || file->pMethods == nullptr || file->pMethods->xFileSize(file, &bytes) != SQLITE_OK)
    return;
  const auto memory =
      static_cast<double>(::sysconf(_SC_PHYS_PAGES)) * static_cast<double>(::sysconf(_SC_PAGESIZE));
  if (static_cast<double>(bytes) > 0.9 * memory) return;
  std::vector<char> room(std::size_t{8} << 20);
  for (sqlite3_int64 at = 0; at < bytes && watcher.go_on();) {
    const auto amount = static_cast<int>(std::min(bytes - at, static_cast<sqlite3_int64>(room.size())));
    if (file->pMethods->xRead(file, room.data(), amount, at) != SQLITE_OK) return;  // told where it counts
    at += amount;
  }
}

/// A seal known from elsewhere: a certificate's code, or a line of the second place.
struct Known {
  std::string where;
  SealCode code;
  std::optional<std::string> public_key_hex;
};

class Verification {
 public:
  explicit Verification(const VerifyWish& wish) : wish_(wish), watcher_(wish_.watch) {}

  Result<VerifyReport> run() {
    std::error_code error;
    file_ = std::filesystem::is_regular_file(wish_.record, error) ? wish_.record : record_file(wish_.record);
    if (!std::filesystem::exists(file_, error))
      return Problem{wish_.record.string(), "no record", "a data folder, or the file of a record"};
    if (auto problem = gather_known()) return *problem;
    try {
      live_ = connect_reader(file_);
      // One look at the whole record, however long it takes and whatever a station writes meanwhile.
      live_->exec("BEGIN");
      watcher_.follow(*live_);
      walk_files();
      if (report_.files.empty()) return report_;
      look_at_keys();
      for (const auto& known : known_) hold_against(known);
      if (wish_.compare_index && report_.sound()) look_at_index();
    } catch (const SQLite::Exception& failure) {
      if (watcher_.broken_off())
        return Problem{"watch", "a verification broken off before its end", "time to end it"};
      if (!damage(failure)) return problem_of(failure, file_);
      find(0, "The file is damaged: " + std::string(failure.what()) + ".");
    } catch (const std::runtime_error& failure) {
      find(0, std::string(failure.what()) + ".");
    }
    return report_;
  }

 private:
  void find(std::int64_t sequence, std::string what) {
    report_.findings.push_back({sequence, std::move(what)});
  }
  static bool damage(const SQLite::Exception& failure) {
    return disk_in_doubt(failure) || failure.getErrorCode() == 1 /* SQLITE_ERROR: tables altered */;
  }

  std::optional<Problem> gather_known() {
    for (const auto& typed : wish_.codes) {
      const auto code = read_code(typed);
      if (!code) return code.problem();
      known_.push_back({"code " + typed.substr(0, 40), code.value(), std::nullopt});
    }
    if (!wish_.heads_file) return std::nullopt;
    const auto heads = read_heads_file(*wish_.heads_file);
    if (!heads) return heads.problem();
    for (const auto& head : heads.value()) {
      const auto where = fmt::format("{}:{}", wish_.heads_file->string(), head.line);
      const auto code = read_code(head.code);
      if (!code) return Problem{where, code.problem().found, code.problem().expected};
      known_.push_back({where, code.value(), head.public_key_hex});
    }
    return std::nullopt;
  }

  void walk_files() {
    // The tables are looked at first: everything after relies on them.
    if (const auto fault = schema_fault(*live_)) return find(0, file_.string() + ": " + *fault);
    watcher_.set_entries(live_->execAndGet("SELECT ifnull(max(sequence), 0) FROM entries").getInt64());
    parts_ = PartFiles(*live_, file_);
    const bool alone = file_ == wish_.record && !parts_.parts().empty() &&
                       !std::filesystem::exists(parts_.file_of(parts_.parts().front()));
    if (alone) {
      const auto& before = parts_.parts().back();
      report_.notes.push_back(
          fmt::format("This file follows on {}, which is not beside it: entries 1 to {} were not looked at. "
                      "Its chain begins "
                      "with the hash {} of entry {}.",
                      before.file, before.last_sequence, hex(before.head), before.last_sequence));
    } else {
      for (const auto& part : parts_.parts()) walk(parts_.open(part), parts_.file_of(part));
    }
    whole_ = !alone;
    walk(*live_, file_);
  }

  void walk(SQLite::Database& database, const std::filesystem::path& file) {
    if (&database != live_.get())
      if (const auto fault = schema_fault(database)) return find(0, file.string() + ": " + *fault);
    watcher_.follow(database);
    watcher_.begin(VerifyPart::pages, report_.entries);
    read_ahead(database, watcher_);
    // Where the index is not compared, neither are SQLite's own.
    SQLite::Statement pages(database,
                            wish_.compare_index ? "PRAGMA integrity_check(1)" : "PRAGMA quick_check(1)");
    if (pages.executeStep() && pages.getColumn(0).getString() != "ok")
      find(0, fmt::format("{} is damaged: {}.", file.string(), pages.getColumn(0).getString()));
    watcher_.begin(VerifyPart::hashes, report_.entries);
    const auto chain = check_chain(database, 1, [&](const WalkedEntry& entry) {
      watcher_.count();
      report_.traces += !entry.fields.trace_hash.empty();
      report_.fittings += !entry.fields.opening_json.empty();
      return seals_.look_at(entry);
    });
    const auto base =
        database.execAndGet("PRAGMA user_version").getInt() >= 2 ? chain_base(database).sequence : 0;
    report_.files.push_back({file, base + 1, chain.newest, chain.checked});
    report_.entries += chain.checked;
    report_.newest = chain.newest;
    report_.newest_hash_hex = hex(chain.newest_hash);
    if (chain.broken)
      find(chain.broken->sequence,
           fmt::format("{}: {}. Everything before it is as it was written.",
                       entry_in_words(database, chain.broken->sequence), chain.broken->what));
    if (const auto fault = stray_document(database)) find(0, *fault);
  }

  // Every document is looked at, also one that no entry of this file names.
  static std::optional<std::string> stray_document(SQLite::Database& database) {
    SQLite::Statement rows(database, "SELECT hash, content FROM documents");
    while (rows.executeStep()) {
      const auto hash = rows.getColumn(0).getString();
      if (std::string(bytes_of(hash_of(rows.getColumn(1).getString()))) != hash)
        return "A recipe document does not match its hash.";
    }
    return std::nullopt;
  }

  void look_at_keys() {
    report_.seals = seals_.seals();
    report_.newest_seal = seals_.newest();
    for (const auto& key : seals_.keys()) report_.public_keys.push_back(hex(key));
    for (const auto& change : seals_.changes_without_old_key())
      report_.notes.push_back(
          fmt::format("At entry {} the signing key was replaced without the old key, which was said to be "
                      "lost. Who relies on "
                      "the old key {} has no proof of what follows.",
                      change.sequence, hex(change.before).substr(0, 16)));
    if (report_.seals == 0)
      report_.notes.push_back("Nothing is sealed yet: the chain alone cannot show that its end was cut off.");
    if (!wish_.trusted_key) {
      if (report_.seals > 0)
        report_.notes.push_back(
            "The seals were checked with the keys that the record itself names. That nobody wrote the record "
            "anew is "
            "shown only with a public key kept elsewhere: --public-key.");
      return;
    }
    const auto& keys = seals_.keys();
    const auto trusted = std::find(keys.begin(), keys.end(), *wish_.trusted_key);
    if (trusted == keys.end())
      return find(
          0,
          fmt::format("The key {} has never sealed this record: it is another record, or was written anew.",
                      hex(*wish_.trusted_key).substr(0, 16)));
    if (report_.seals == 0)
      return find(0, "Nothing is sealed, although the given key was made for this record.");
    for (const auto& change : seals_.changes_without_old_key())
      if (std::find(trusted, keys.end(), change.before) != keys.end())
        return find(
            change.sequence,
            fmt::format("Entry {} replaces the signing key without the old one: nothing after it is vouched "
                        "for by the given key.",
                        change.sequence));
  }

  std::optional<std::string> hash_at(std::int64_t sequence) {
    std::optional<std::string> out;
    const auto look = [&](SQLite::Database& database) {
      SQLite::Statement row(database, "SELECT hash FROM entries WHERE sequence = ?");
      row.bind(1, sequence);
      if (const auto hash = row.executeStep() ? as_hash(row.getColumn(0).getString()) : std::nullopt)
        out = hex(*hash);
    };
    if (whole_)
      parts_.each(*live_, sequence, sequence, look);
    else
      look(*live_);
    return out;
  }

  void hold_against(const Known& known) {
    const auto& code = known.code;
    if (!whole_ && code.sequence < report_.files.front().first_sequence) {
      report_.notes.push_back(known.where + " is over an entry of an earlier file: not looked at.");
      return;
    }
    if (code.sequence > report_.newest)
      return find(
          code.sequence,
          fmt::format("{}: a seal was given over entry {}, but the record ends at entry {}: its end was cut "
                      "off, or this is an older copy.",
                      known.where, code.sequence, report_.newest));
    const auto is = hash_at(code.sequence);
    if (!is || !is->starts_with(code.head_hex))
      return find(code.sequence, fmt::format("{}: the record up to entry {} is not the one that was sealed.",
                                             known.where, code.sequence));
    if (code.signature_hex && !signed_by_a_key(known))
      return find(code.sequence,
                  fmt::format("{}: the signature fits none of the record's keys.", known.where));
    ++(known.public_key_hex ? report_.heads_fit : report_.codes_fit);
  }

  bool signed_by_a_key(const Known& known) const {
    const auto head = from_hex(known.code.head_hex);
    const auto signature = signature_from_hex(*known.code.signature_hex);
    return head && signature &&
           std::any_of(seals_.keys().begin(), seals_.keys().end(), [&](const PublicKey& key) {
             return head_signature_fits(key, known.code.sequence, *head, *signature);
           });
  }

  void look_at_index() {
    if (!whole_) {
      report_.notes.push_back("The index was not compared: the files before this one are not beside it.");
      return;
    }
    if (live_->execAndGet("PRAGMA user_version").getInt() < 2) return;
    const auto each = [&](const std::function<void(SQLite::Database&)>& visit) {
      parts_.each(*live_, 1, report_.newest, visit);
    };
    if (const auto fault = index_fault(*live_, each, watcher_)) find(0, *fault);
  }

  const VerifyWish& wish_;
  std::filesystem::path file_;
  std::unique_ptr<SQLite::Database> live_;
  PartFiles parts_;
  VerifyWatcher watcher_;
  SealWalk seals_;
  std::vector<Known> known_;
  VerifyReport report_;
  bool whole_ = true;
};

}  // namespace

Result<VerifyReport> verify(const VerifyWish& wish) {
  return Verification(wish).run();
}

}  // namespace shankwright::record
