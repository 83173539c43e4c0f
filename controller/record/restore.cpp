#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <nlohmann/json.hpp>

#include "record/backup.hpp"
#include "record/backup_files.hpp"
#include "record/connection.hpp"
#include "record/data_folder.hpp"
#include "record/serial.hpp"
#include "record/store.hpp"
#include "record/whole_file.hpp"
#include "record/writer.hpp"

namespace shankwright::record {
namespace {

using std::filesystem::path;

// The folder as it is made ready, beside its later place; gone at the end unless it was named.
class Staging {
 public:
  explicit Staging(path folder)
      : folder_(std::move(folder)), error_(::mkdir(folder_.c_str(), 0700) == 0 ? 0 : errno) {}
  ~Staging() {
    std::error_code ignored;
    if (error_ == 0 && !named_) std::filesystem::remove_all(folder_, ignored);
  }
  Staging(const Staging&) = delete;
  Staging& operator=(const Staging&) = delete;
  [[nodiscard]] const path& folder() const { return folder_; }
  [[nodiscard]] int error() const { return error_; }
  [[nodiscard]] std::optional<Problem> name(const path& folder) {
    // An empty folder may give way; rmdir refuses any other.
    if (::rmdir(folder.c_str()) != 0 && errno != ENOENT) return file_problem(folder, errno);
    if (const auto problem = name_for_good(folder_, folder)) return problem;
    named_ = true;
    return std::nullopt;
  }

 private:
  path folder_;
  int error_;
  bool named_ = false;
};

bool holds_something(const path& folder) {
  std::error_code error;
  return std::filesystem::exists(folder, error) && !std::filesystem::is_empty(folder, error);
}

Result<std::int64_t> number_given_since(const RestoreWish& wish) {
  if (wish.last_serial.empty()) return std::int64_t{0};
  const auto number = number_of(wish.last_serial);
  if (number) return *number;
  return Problem{"last serial", "\"" + wish.last_serial + "\"",
                 "a whole serial as on a label, for example " + serial_of(1)};
}

// Nothing more is to be given up to the serial skipped last, in the same transaction as the entry that says
// so.
Result<RestoreReport> say_restored(const path& folder, const RestoreWish& wish, std::int64_t entries) {
  const auto given = number_given_since(wish);
  if (!given) return given.problem();
  const auto database = connect_writer(record_file(folder));
  Writer writer(*database);
  const auto known = writer.newest_serial_number();
  const auto last = known + wish.skip_serials;
  if (given.value() > last)
    return Problem{
        "skipped serials",
        fmt::format("{}, up to {}, and {} was given", wish.skip_serials, last > 0 ? serial_of(last) : "none",
                    serial_of(given.value())),
        fmt::format("at least {}, and some more for serials that nobody remembers", given.value() - known)};
  RestoreReport report;
  report.entries = entries;
  report.last_serial_in_copy = known > 0 ? serial_of(known) : "";
  report.last_serial_skipped = wish.skip_serials > 0 ? serial_of(last) : "";
  report.serials_skipped = wish.skip_serials;
  Transaction transaction(*database);
  auto head = writer.newest();
  report.copied_until = head.sequence;
  ports::NewEntry entry;
  entry.at_utc_us = wish.at_utc_us;
  entry.kind = "station";
  entry.event = "restored";
  entry.actor = wish.actor;
  entry.body_json = nlohmann::json{{"copied_until", report.copied_until},
                                   {"copied_head", hex(head.hash)},
                                   {"last_serial_in_copy", report.last_serial_in_copy},
                                   {"last_serial_skipped", report.last_serial_skipped},
                                   {"serials_skipped", report.serials_skipped}}
                        .dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  head = writer.append(head, entry, "");
  if (wish.skip_serials > 0) (void)writer.append(head, reservation(serial_of(last), wish.at_utc_us), "");
  transaction.commit();
  return report;
}

Result<RestoreReport> prepare(const path& folder, const RestoreWish& wish) {
  const auto file = record_file(folder);
  if (const auto problem = copy_file_whole(wish.copy, file)) return *problem;
  const auto closed = copy_closed_files(wish.copy, file);
  if (!closed) return closed.problem();
  std::int64_t entries = 0;
  {
    const auto store = SqliteStore::open(folder);  // brings an older copy up to date
    if (!store) return store.problem();
    const auto report = store.value()->check_chain();
    if (!report) return report.problem();
    if (report.value().broken)
      return Problem{wish.copy.string(),
                     fmt::format("a broken chain at entry {}: {}", report.value().broken->sequence,
                                 report.value().broken->what),
                     "a copy as it was made; take another one"};
    entries = report.value().checked;
  }
  try {
    return say_restored(folder, wish, entries);
  } catch (const SQLite::Exception& failure) {
    return problem_of(failure, file);
  }
}

// The same problem at the place people know.
Problem seen_from_outside(Problem problem, const path& staging, const RestoreWish& wish) {
  if (problem.place == record_file(staging).string()) problem.place = wish.copy.string();
  return problem;
}

}  // namespace

Result<RestoreReport> restore(const RestoreWish& wish) {
  std::error_code error;
  const auto folder = std::filesystem::absolute(wish.folder, error).lexically_normal();
  const auto whole = folder.has_filename() ? folder : folder.parent_path();
  if (holds_something(whole))
    return Problem{whole.string(), "a folder that is not empty",
                   "a new data folder; move what is left of the old one away first and keep it"};
  if (!std::filesystem::is_regular_file(wish.copy, error) ||
      std::filesystem::file_size(wish.copy, error) == 0)
    return Problem{wish.copy.string(), "no copy of a record", "a file written by record backup"};
  if (wish.skip_serials < 0)
    return Problem{"skipped serials", std::to_string(wish.skip_serials), "0 or more"};
  std::filesystem::create_directories(whole.parent_path(), error);
  auto name = whole;
  name += ".restoring";
  Staging staging(name);
  if (staging.error() == EEXIST)
    return Problem{name.string(), "a restore under way or broken off",
                   "no such folder; take it away when nobody is restoring"};
  if (staging.error() != 0) return file_problem(name, staging.error());
  auto report = prepare(staging.folder(), wish);
  if (!report) return seen_from_outside(report.problem(), staging.folder(), wish);
  if (const int failed = synchronise_folder(staging.folder())) return file_problem(whole, failed);
  if (const auto problem = staging.name(whole)) return *problem;
  return report;
}

}  // namespace shankwright::record
