#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <map>
#include <memory>
#include <vector>

#include "record/parts.hpp"

namespace shankwright::record {

/// The closed files of a record, opened to read when first asked for. One thread at a time.
class PartFiles {
 public:
  PartFiles() = default;
  /// Reads which parts there are from the live file. Throws SQLite::Exception.
  PartFiles(SQLite::Database& live, const std::filesystem::path& record_file);

  [[nodiscard]] const std::vector<Part>& parts() const { return parts_; }
  [[nodiscard]] std::filesystem::path file_of(const Part& part) const { return folder_ / part.file; }

  /// Throws std::runtime_error, with the part's file, its entries and what to do, when the file is not there
  /// or is not the part; SQLite::Exception when it cannot be read.
  [[nodiscard]] SQLite::Database& open(const Part& part);

  /// Calls `visit` with each file that can hold entries from `first` to `last`, oldest first, `live` last.
  template <typename Visit>
  void each(SQLite::Database& live, std::int64_t first, std::int64_t last, const Visit& visit) {
    for (const auto& part : parts_)
      if (part.last_sequence >= first && part.first_sequence <= last) visit(open(part));
    if (parts_.empty() || last > parts_.back().last_sequence) visit(live);
  }

 private:
  std::filesystem::path folder_;
  std::vector<Part> parts_;
  std::map<std::int64_t, std::unique_ptr<SQLite::Database>> opened_;
};

}  // namespace shankwright::record
