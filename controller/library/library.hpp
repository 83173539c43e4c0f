#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "quantity/result.hpp"
#include "recipe/model.hpp"

/// The engineering library (recipes/) and the shop register, read from YAML and checked. Every fault is reported, each
/// with file:line:column, what was found, what is expected, and the nearest known name for a misspelt one.
namespace shankwright::library {

/// Everything found under one library folder.
struct Library {
  std::map<std::string, recipe::Rope> ropes;
  std::map<std::string, recipe::Terminal> terminals;
  std::map<std::string, recipe::DiePair> die_pairs;
  std::map<std::string, recipe::Gauge> gauges;
  std::map<std::string, recipe::Press> presses;
  std::map<std::string, recipe::Recipe> recipes;   ///< newest revision of each id; only those without faults
  std::vector<Problem> faults;                     ///< of every file, in path order
  std::vector<Problem> warnings;
};

/// Reads every file under ropes/ terminals/ dies/ gauges/ presses/ recipes/. Never throws for what a file says.
[[nodiscard]] Library load(const std::filesystem::path& folder);

/// Checks single files or folders against the library around them; what `recipe check PATH...` prints.
[[nodiscard]] std::vector<Problem> check(const std::vector<std::filesystem::path>& paths, std::vector<Problem>* warnings);

[[nodiscard]] Result<recipe::JoinedRecipe> join(const Library& library, const std::string& recipe_id);

/// JSON text of a joined recipe as the record keeps it, and back. Round trip is exact.
[[nodiscard]] std::string to_json(const recipe::JoinedRecipe& joined);
[[nodiscard]] Result<recipe::JoinedRecipe> from_json(const std::string& text);

/// Who and what this shop has: people, lots, and what falls due when. Days are civil days as days since 1970-01-01 (UTC).
struct Person {
  std::string id, name;
  bool operator_role = false, technician_role = false, planner_role = false, reviewer_role = false;
  std::map<std::string, std::int64_t> qualified_until_day;   ///< recipe family -> last day
};
struct Lot {
  std::string id;
  std::string of;              ///< rope or terminal id
  bool quarantined = false;
  std::string certificate;     ///< maker's paper, free text
};
struct DiePairCare {
  std::string serial;          ///< of the pair
  std::int64_t inspection_due_day = 0;
  std::uint32_t strokes_at_register = 0;   ///< strokes on the pair when the register was written
};
struct Shop {
  std::string name;
  std::map<std::string, Person> people;
  std::map<std::string, Lot> rope_lots, terminal_lots;
  std::map<std::string, std::int64_t> gauge_calibration_due_day;   ///< gauge id -> last day
  std::map<std::string, DiePairCare> die_pairs;                    ///< die pair id -> care
  std::map<std::string, std::int64_t> press_calibration_due_day;   ///< press id -> last day
};
struct ShopResult {
  Shop shop;
  std::vector<Problem> faults;
};
[[nodiscard]] ShopResult load_shop(const std::filesystem::path& file, const Library& library);

}  // namespace shankwright::library
