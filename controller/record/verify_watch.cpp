#include "record/verify_watch.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

namespace shankwright::record {

int VerifyWatcher::ask(void* watcher) {
  auto& self = *static_cast<VerifyWatcher*>(watcher);
  if (!self.broken_off_) self.broken_off_ = !self.watch_(self.now_);
  return self.broken_off_ ? 1 : 0;
}

void VerifyWatcher::follow(SQLite::Database& database) {
  constexpr int steps_of_sqlite = 20'000;  // a few thousandths of a second
  if (watch_) sqlite3_progress_handler(database.getHandle(), steps_of_sqlite, ask, this);
}

void VerifyWatcher::begin(VerifyPart part, std::int64_t done) {
  now_.part = part;
  now_.done = done;
  (void)go_on();
}

}  // namespace shankwright::record
