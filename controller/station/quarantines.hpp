#pragma once
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "library/library.hpp"
#include "ports/station_port.hpp"

/// What is quarantined now: by the record's entries, and by the shop register. Plain bookkeeping, no I/O.
///
/// The register and the record each hold an item by themselves. What the register says only the register
/// lifts; what was quarantined at the station only an entry lifts.
namespace shankwright::station {

/// "quarantined" or "quarantine_lifted" as the record keeps it; a Problem for a body nobody can read.
struct QuarantineEntry {
  ports::QuarantinedItem item;
  bool lifted = false;
  std::int64_t sequence = 0;
};

class Quarantines {
 public:
  explicit Quarantines(const library::Shop& shop) : shop_(shop) {}

  void take(const QuarantineEntry& entry);
  [[nodiscard]] bool in_record(ports::Item item, const std::string& id) const;
  [[nodiscard]] bool in_shop_file(ports::Item item, const std::string& id) const;
  [[nodiscard]] bool free(ports::Item item, const std::string& id) const {
    return !in_record(item, id) && !in_shop_file(item, id);
  }
  /// By the record, oldest first by name; then by the register.
  [[nodiscard]] std::vector<ports::QuarantinedItem> all() const;
  /// Of an item quarantined by the record: its entry.
  [[nodiscard]] std::int64_t sequence_of(ports::Item item, const std::string& id) const;

 private:
  const library::Shop& shop_;
  std::map<std::pair<ports::Item, std::string>, QuarantineEntry> held_;
};

/// The entry as JSON body and back.
[[nodiscard]] std::string quarantine_body(const ports::QuarantinedItem& item,
                                          const std::vector<std::string>& held, std::size_t released);
[[nodiscard]] Result<QuarantineEntry> quarantine_from(const ports::StoredEntry& stored);

}  // namespace shankwright::station
