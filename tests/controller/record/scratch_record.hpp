#pragma once
#include <catch2/catch.hpp>

#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "record/data_folder.hpp"
#include "record/store.hpp"

/// A data folder of its own for each test, and entries to put into it.
namespace shankwright::record_test {

class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "shankwright-record-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    path_ = name;
  }
  ~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  [[nodiscard]] std::filesystem::path data() const { return path_ / "data"; }
  [[nodiscard]] std::filesystem::path file() const { return record::record_file(data()); }

 private:
  std::filesystem::path path_;
};

template <typename T>
T good(const Result<T>& result) {
  INFO((result.ok() ? std::string() : result.problem().text()));
  REQUIRE(result.ok());
  return result.value();
}

inline std::shared_ptr<record::SqliteStore> opened(const ScratchFolder& folder,
                                                   const record::StoreOptions& options = {}) {
  return good(record::SqliteStore::open(folder.data(), options));
}

inline ports::NewEntry entry_of(const std::string& serial, const std::string& event,
                                std::int64_t at_utc_us = 1000, const std::string& stage = "measure",
                                int re_presses = 0) {
  ports::NewEntry entry;
  entry.at_utc_us = at_utc_us;
  entry.serial = serial;
  entry.kind = "evidence";
  entry.event = event;
  entry.actor = "op-1";
  entry.body_json = R"({"event":{},"findings":[]})";
  entry.state_json = R"({"re_presses":)" + std::to_string(re_presses) + R"(,"stage":")" + stage + "\"}";
  entry.stage = stage;
  return entry;
}

inline ports::FittingRow row_of(const std::string& serial, std::int64_t started_utc_us = 1000) {
  ports::FittingRow row;
  row.serial = serial;
  row.recipe_id = "hexagon-4.8";
  row.recipe_revision = 3;
  row.job = "job-7";
  row.operator_id = "op-1";
  row.rope_lot = "rope-lot-a";
  row.terminal_lot = "terminal-lot-b";
  row.die_pair_id = "die-7.95";
  row.started_utc_us = started_utc_us;
  row.joined_recipe_json = R"({"recipe":{"id":"hexagon-4.8","revision":3}})";
  return row;
}

/// Reserves a serial and opens a fitting under it.
inline std::string begin_fitting(record::SqliteStore& store, std::int64_t at_utc_us = 1000,
                                 ports::FittingRow row = row_of("")) {
  const auto serial = good(store.reserve_serial(at_utc_us));
  row.serial = serial;
  row.started_utc_us = at_utc_us;
  good(store.open_fitting(row, entry_of(serial, "admit", at_utc_us)));
  return serial;
}

/// A text of any bytes: quotes, control characters, zeros, UTF-8 and what is none.
inline std::string random_text(std::mt19937_64& random, std::size_t most) {
  std::string out(std::uniform_int_distribution<std::size_t>(0, most)(random), '\0');
  for (auto& character : out)
    character = static_cast<char>(std::uniform_int_distribution<int>(0, 255)(random));
  return out;
}

inline std::vector<ports::Sample> random_trace(std::mt19937_64& random, std::size_t most) {
  std::vector<ports::Sample> out(std::uniform_int_distribution<std::size_t>(1, most)(random));
  std::uint32_t time = 0;
  std::uniform_int_distribution<int> any(0, 65535), extreme(0, 9);
  const auto count = [&] { return extreme(random) == 0 ? 65535 : extreme(random) == 1 ? 0 : any(random); };
  for (auto& sample : out) {
    sample = {time, count() / 10.0, count() / 1000.0};
    time += extreme(random) == 0 ? static_cast<std::uint32_t>(any(random)) * 977U : 2U;
  }
  return out;
}

}  // namespace shankwright::record_test
