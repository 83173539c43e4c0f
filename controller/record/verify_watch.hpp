#pragma once
#include <cstdint>
#include <functional>
#include <string>

namespace SQLite {
class Database;
}

/// Following a verification that takes minutes, and breaking it off.
namespace shankwright::record {

enum class VerifyPart : std::uint8_t {
  pages,        ///< SQLite's own check of a file's pages
  hashes,       ///< every entry, trace, recipe and seal
  index_made,   ///< what the index should be, from the entries
  index_looked  ///< and whether it is
};

struct VerifyProgress {
  VerifyPart part = VerifyPart::pages;
  std::int64_t done = 0;  ///< entries of all files, in `hashes` and `index_made`
  std::int64_t of = 0;    ///< entries of the record
};

/// Asked many times a second, in the verification's own thread; false breaks it off.
using VerifyWatch = std::function<bool(const VerifyProgress&)>;

/// Asks a watch from within SQLite's work on every connection that it was shown.
class VerifyWatcher {
 public:
  explicit VerifyWatcher(const VerifyWatch& watch) : watch_(watch) {}
  VerifyWatcher(const VerifyWatcher&) = delete;
  VerifyWatcher& operator=(const VerifyWatcher&) = delete;

  /// A statement of this connection fails with SQLITE_INTERRUPT once the watch says so. The connection must
  /// not work longer than this lives.
  void follow(SQLite::Database& database);
  void begin(VerifyPart part, std::int64_t done = 0);
  void set_entries(std::int64_t entries) { now_.of = entries; }
  void count() { ++now_.done; }
  [[nodiscard]] bool go_on() { return !watch_ || ask(this) == 0; }
  [[nodiscard]] std::int64_t done() const { return now_.done; }
  [[nodiscard]] bool broken_off() const { return broken_off_; }

 private:
  static int ask(void* watcher);
  const VerifyWatch& watch_;
  VerifyProgress now_;
  bool broken_off_ = false;
};

}  // namespace shankwright::record
