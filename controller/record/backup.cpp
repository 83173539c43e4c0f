#include "record/backup.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <memory>
#include <optional>
#include <thread>
#include <utility>

#include "record/backup_files.hpp"
#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/integrity.hpp"
#include "record/schema.hpp"

namespace shankwright::record {
namespace {

using std::filesystem::path;

// A file under its temporary name; gone at the end unless it was named.
class PartFile {
 public:
  explicit PartFile(path file) : file_(std::move(file)) {
    descriptor_ = ::open(file_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    error_ = descriptor_ < 0 ? errno : 0;
  }
  ~PartFile() {
    if (descriptor_ < 0) return;
    ::close(descriptor_);
    if (!named_) ::unlink(file_.c_str());
  }
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;

  [[nodiscard]] const path& file() const { return file_; }
  [[nodiscard]] int error() const { return error_; }
  [[nodiscard]] int descriptor() const { return descriptor_; }
  [[nodiscard]] std::optional<Problem> name(const path& target) {
    if (const auto problem = name_for_good(file_, target)) return problem;
    named_ = true;
    return std::nullopt;
  }

 private:
  path file_;
  int descriptor_ = -1, error_ = 0;
  bool named_ = false;
};

struct Newest {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string hash_hex;
};

Newest newest_of(SQLite::Database& database) {
  SQLite::Statement last(
      database, "SELECT sequence, at_utc_us, lower(hex(hash)) FROM entries ORDER BY sequence DESC LIMIT 1");
  if (!last.executeStep()) return {};
  return {last.getColumn(0).getInt64(), last.getColumn(1).getInt64(), last.getColumn(2).getString()};
}

std::optional<Problem> no_room_for(const path& target, std::uint64_t bytes) {
  std::error_code error;
  const auto space = std::filesystem::space(target.parent_path(), error);
  if (error) return Problem{target.parent_path().string(), error.message(), "a folder that is there"};
  if (space.available >= bytes) return std::nullopt;
  return Problem{target.string(),
                 fmt::format("room for {:.1f} MB on the disk", static_cast<double>(space.available) / 1e6),
                 fmt::format("{:.1f} MB free for the whole copy; nothing of it has been kept",
                             static_cast<double>(bytes) / 1e6)};
}

class Copying {
 public:
  Copying(SQLite::Database& to, SQLite::Database& from)
      : handle_(sqlite3_backup_init(to.getHandle(), "main", from.getHandle(), "main")) {
    if (handle_ == nullptr) throw SQLite::Exception(to.getHandle());
  }
  ~Copying() { (void)finish(); }
  Copying(const Copying&) = delete;
  Copying& operator=(const Copying&) = delete;
  [[nodiscard]] int step(int pages) { return sqlite3_backup_step(handle_, pages); }
  [[nodiscard]] std::uint64_t all() const {
    return static_cast<std::uint64_t>(sqlite3_backup_pagecount(handle_));
  }
  [[nodiscard]] std::uint64_t left() const {
    return static_cast<std::uint64_t>(sqlite3_backup_remaining(handle_));
  }
  int finish() { return sqlite3_backup_finish(std::exchange(handle_, nullptr)); }

 private:
  sqlite3_backup* handle_;
};

void copy_pages(SQLite::Database& source, const PartFile& part, const BackupProgress& progress,
                const BackupPace& pace) {
  SQLite::Database target(part.file().string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  // Nobody sees this file before it is whole; it is put on the disk by its descriptor, slice by slice.
  target.exec("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-2048;");
  Copying copying(target, source);
  for (int since_sync = 0;;) {
    const int code = copying.step(pace.pages_a_slice);
    if (progress && code != SQLITE_DONE) progress(copying.all() - copying.left(), copying.all());
    if (code == SQLITE_DONE) break;
    if (code != SQLITE_OK) throw SQLite::Exception(sqlite3_errstr(code), code);
    since_sync += pace.pages_a_slice;
    if (since_sync >= pace.pages_a_sync) {
      since_sync = 0;
      if (::fdatasync(part.descriptor()) != 0)
        throw SQLite::Exception("the copy cannot be synchronised", SQLITE_IOERR);
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(pace.pause_ms));
  }
  const auto all = copying.all();
  if (const int code = copying.finish(); code != SQLITE_OK)
    throw SQLite::Exception(sqlite3_errstr(code), code);
  if (progress) progress(all, all);
}

// "Database File Format", 1.3: bytes 18 and 19 are 2 for a file with a journal beside it (WAL) and 1 for a
// file alone. All of the journal is in the copy, which can be read from where nothing can be written.
int make_file_alone(int descriptor) {
  struct stat status {};
  if (::fstat(descriptor, &status) != 0) return errno;
  const char alone[2] = {1, 1};
  if (status.st_size >= 20 && ::pwrite(descriptor, alone, sizeof(alone), 18) != sizeof(alone)) return EIO;
  return ::fsync(descriptor) == 0 ? 0 : errno;
}

Problem unsound(const path& file, const std::string& what) {
  return {file.string(), "a copy that is not sound: " + what,
          "a copy of what the station wrote; look at the record itself with verify"};
}

// Problem, or how many entries were found right.
Result<std::int64_t> check_copy(const path& file, const path& named, const Newest& expected) {
  const auto copy = connect_reader(file);
  if (const auto damage = check_file(*copy)) return unsound(named, damage->found);
  const auto report = check_chain(*copy, 1);
  if (report.broken)
    return unsound(named, fmt::format("entry {}: {}", report.broken->sequence, report.broken->what));
  const auto newest = newest_of(*copy);
  if (newest.sequence != expected.sequence || newest.hash_hex != expected.hash_hex)
    return unsound(named,
                   fmt::format("it ends at entry {} and not at {}", newest.sequence, expected.sequence));
  return report.checked;
}

}  // namespace

Result<BackupReport> back_up(const path& folder, const path& target, const BackupProgress& progress,
                             const BackupPace& pace) {
  std::error_code error;
  const auto named = std::filesystem::absolute(target, error).lexically_normal();
  if (std::filesystem::exists(std::filesystem::symlink_status(named, error)))
    return Problem{named.string(), "a file of that name", "a name that is not taken; nothing is overwritten"};
  const auto file = record_file(folder);
  if (!std::filesystem::exists(file, error))
    return Problem{folder.string(), "no record", "a data folder in which a station has kept its record"};
  BackupReport report;
  report.file = named;
  try {
    auto source = connect_reader(file);
    if (const auto version = expect_version(*source, schema_steps()); !version) return version.problem();
    // One view of the record from here to the end of copying: what the station appends in between neither
    // changes the copy nor makes it begin again.
    source->exec("BEGIN");
    const auto newest = newest_of(*source);
    const auto bytes = static_cast<std::uint64_t>(source->execAndGet("PRAGMA page_count").getInt64()) *
                       static_cast<std::uint64_t>(source->execAndGet("PRAGMA page_size").getInt64());
    if (const auto problem = no_room_for(named, bytes)) return *problem;
    auto part_name = named;
    part_name += fmt::format(".part-{}", ::getpid());
    PartFile part(part_name);
    if (part.error() != 0) return file_problem(part.file(), part.error());
    try {
      copy_pages(*source, part, progress, pace);
    } catch (const SQLite::Exception& failure) {
      if (failure.getErrorCode() == SQLITE_FULL) return file_problem(named, ENOSPC);
      return Problem{named.string(), fmt::format("a copy that failed: {}", failure.what()),
                     "disks that read " + file.string() + " and write the copy"};
    }
    source->exec("COMMIT");
    if (const int failed = make_file_alone(part.descriptor())) return file_problem(named, failed);
    const auto checked = check_copy(part.file(), named, newest);
    if (!checked) return checked.problem();
    if (!newest.hash_hex.empty()) {
      SQLite::Statement same(*source, "SELECT lower(hex(hash)) FROM entries WHERE sequence = ?");
      same.bind(1, newest.sequence);
      if (!same.executeStep() || same.getColumn(0).getString() != newest.hash_hex)
        return unsound(named, fmt::format("the record's own entry {} is another by now", newest.sequence));
    }
    const auto closed = copy_closed_files(file, named);
    if (!closed) return closed.problem();
    if (const auto problem = part.name(named)) return *problem;
    report.bytes = bytes;
    report.newest = newest.sequence;
    report.newest_hash_hex = newest.hash_hex;
    report.newest_at_utc_us = newest.at_utc_us;
    report.entries_checked = checked.value();
    report.closed_files = closed.value();
    return report;
  } catch (const SQLite::Exception& failure) {
    return problem_of(failure, file);
  }
}

}  // namespace shankwright::record
