#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "record/entry_facts.hpp"
#include "record/number_sets.hpp"
#include "record/state_patch.hpp"

/// What people and the station look up, as a function of the entries alone: each new entry is applied in its
/// own transaction, and applying all of them from the start gives the same again.
///   serials, fitting_index  serials given; a fitting's facts, without its state, so that long lists stay
///   small fitting_states          the state in force terms, number_sets      which fittings have a job, lot,
///   gauge, verdict ... in common (number_sets.hpp) start_blocks            for each 256 running numbers the
///   earliest and the latest start texts                   words, an FTS5 index without its contents; row =
///   number << 20 | count of the text die_strokes             good bites by die pair
namespace shankwright::record {

/// The entry by which reserve_serial() keeps a serial. Its kind is the store's own; nobody else may append
/// one.
inline constexpr std::string_view serial_kind = "serial";
[[nodiscard]] ports::NewEntry reservation(const std::string& serial, std::int64_t at_utc_us);

/// The verdict as people search for it, "open", "accepted", "re-pressed" (accepted after at least one
/// re-press), "scrapped" or "held", from a stage's name and what the state in force counts.
[[nodiscard]] std::string verdict_of(std::string_view stage, const StateFacts& state);

/// What the first entry of a fitting carries for the index besides itself: who, what and for whom, and the
/// hash of the joined recipe's document, as a JSON object. Part of the entry's hash. Problem when a text is
/// not UTF-8.
[[nodiscard]] Result<std::string> opening_json(const ports::FittingRow& row,
                                               std::string_view document_hash_hex);

inline constexpr std::int64_t start_block_numbers = 256;
inline constexpr int text_bits = 20;

class Index {
 public:
  /// The statements live as long as this; the database must live longer.
  explicit Index(SQLite::Database& database);

  /// The entry is in the table already. Throws SQLite::Exception, and std::runtime_error for a JSON text that
  /// the store itself wrote and that cannot be read back.
  /// `entry.state_json` is the whole state after it, or what is stored of it (state_patch.hpp).
  void apply(std::int64_t sequence, const ports::NewEntry& entry, const std::string& opening_json);

  /// The state in force; empty for a serial without a fitting.
  [[nodiscard]] std::string state_of(const std::string& serial);

  [[nodiscard]] bool serial_is_reserved(const std::string& serial);

  /// Takes everything out, in the caller's transaction.
  void clear();
  /// Applies every entry of a file again, in order: each closed part first, the live file last. Returns the
  /// entries applied; `each` is called after every one.
  std::int64_t apply_all(SQLite::Database& entries, const std::function<void()>& each = {});

 private:
  void apply_reservation(std::int64_t sequence, const ports::NewEntry& entry);
  void apply_opening(std::int64_t sequence, const ports::NewEntry& entry, const std::string& opening_json);
  void apply_change(std::int64_t sequence, const ports::NewEntry& entry);

  struct Fitting {
    std::int64_t number = 0, bites = 0, texts = 0, changed_utc_us = 0, last_sequence = 0;
    std::string stage, verdict, die_pair;
    RunningState state;
    bool state_changed = false;
    std::unordered_set<std::string> told;  ///< what is in the sets already
  };
  /// Nothing for a serial that was reserved, but for which no fitting was opened.
  [[nodiscard]] std::optional<Fitting> read(const std::string& serial);
  void change(Fitting& fitting, std::int64_t sequence, const ports::NewEntry& entry);
  void follow(Fitting& fitting, const ports::NewEntry& entry, std::string words);
  void tell(Fitting& fitting, std::string_view field, const std::string& value);
  void keep(Fitting& fitting);

  SQLite::Database& database_;
  SQLite::Statement reserve_, reserved_, open_, current_, change_, state_, strokes_, start_, text_;
  NumberSets sets_;
  /// While a whole file is applied: fittings in work, kept from one of their entries to the next.
  std::unordered_map<std::string, Fitting> in_work_;
};

}  // namespace shankwright::record
