#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "record/store.hpp"

/// A station at work, drawn from a seed, that remembers what the record reported as done, and says what is
/// wrong with a record that was opened again after the machine failed.
namespace shankwright::record_test {

class History {
 public:
  explicit History(std::uint64_t seed) : random_(seed) {}

  /// One step of a station's life. False when the record refused it; why() then has the reason.
  bool step(record::SqliteStore& store);
  /// From admission to release, one bite with its trace; stops at the first step refused.
  bool whole_fitting(record::SqliteStore& store);
  [[nodiscard]] const Problem& why() const { return why_; }

  /// What is wrong with the record, in words; empty when every step reported as done is there as it was
  /// written, every other whole or not at all, in order, on a whole chain, and no serial was given twice.
  /// What was found is taken as done from now on.
  [[nodiscard]] std::string fault_of(record::SqliteStore& store);
  /// That the index says of every fitting what the entries say; writes it anew.
  [[nodiscard]] static std::string index_fault_of(record::SqliteStore& store);

  [[nodiscard]] std::size_t steps_reported() const { return steps_reported_; }
  [[nodiscard]] std::size_t entries_reported() const { return entries_reported_; }

 private:
  struct Step {
    std::vector<ports::NewEntry> entries;
    bool reported = false;
  };
  ports::NewEntry entry(const std::string& serial, const std::string& event, const std::string& stage);
  ports::NewEntry bite(const std::string& serial);
  bool reserve(record::SqliteStore& store);
  bool open(record::SqliteStore& store, std::string serial);
  bool append(record::SqliteStore& store, std::vector<ports::NewEntry> entries, bool sealed);
  bool read_between(record::SqliteStore& store);
  bool settle(std::vector<ports::NewEntry> entries, const Problem* refused);
  std::uint64_t draw(std::uint64_t below) { return random_() % below; }
  std::string filling(std::size_t most);

  std::mt19937_64 random_;
  std::int64_t clock_ = 0;  // a number of its own for every entry
  std::vector<Step> steps_;
  std::vector<std::string> reserved_, open_;
  std::set<std::string> given_;
  Problem why_;
  std::string fault_;  // found while working
  std::size_t steps_reported_ = 0, entries_reported_ = 0;
};

}  // namespace shankwright::record_test
