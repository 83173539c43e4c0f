#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "people/person.hpp"
#include "quantity/result.hpp"
#include "recipe/model.hpp"

/// The engineering library (recipes/) and the shop register, read from YAML and checked. Every fault is
/// reported, each with file:line:column, what was found, what is expected, and the nearest known name for a
/// misspelt one.
namespace shankwright::library {

/// Everything found under one library folder.
struct Library {
  std::map<std::string, recipe::Rope> ropes;
  std::map<std::string, recipe::Terminal> terminals;
  std::map<std::string, recipe::DiePair> die_pairs;
  std::map<std::string, recipe::Gauge> gauges;
  std::map<std::string, recipe::Press> presses;
  /// One revision of each id: the newest that is not a draft, or the newest draft where there is nothing
  /// else, so that a draft never stops the work its released forerunner allows. Only those without faults,
  /// and none at all of an id whose newer file is faulty: nobody can tell what it would have withdrawn or
  /// changed.
  std::map<std::string, recipe::Recipe> recipes;
  /// Every revision without faults by "id.rREVISION", drafts and withdrawn ones too: to look at, not to press
  /// from.
  std::map<std::string, recipe::Recipe> revisions;
  std::vector<Problem> faults;  ///< of every file, in path order
  std::vector<Problem> warnings;
};

/// Reads every file under ropes/ terminals/ dies/ gauges/ presses/ recipes/. Never throws for what a file
/// says.
[[nodiscard]] Library load(const std::filesystem::path& folder);

struct Checked {
  std::vector<Problem> faults;      ///< of what was read
  std::vector<Problem> warnings;    ///< what can be meant so but seldom is
  std::vector<Problem> unreadable;  ///< what could not be read at all
  std::size_t files = 0;            ///< files read
};

/// Checks single files or folders against the library around them; what `recipe check PATH...` prints. A
/// library folder is checked whole, a folder or file inside one against the rest of it. A file elsewhere is
/// taken for the kind whose keys it has (a shop register or a job too) and checked alone; a warning says that
/// what it names was not looked up.
[[nodiscard]] Checked check_paths(const std::vector<std::filesystem::path>& paths);

/// The same in one list, what could not be read first.
[[nodiscard]] std::vector<Problem> check(const std::vector<std::filesystem::path>& paths,
                                         std::vector<Problem>* warnings);

/// The recipe with everything it names. Found and expected say what is missing, with the nearest known id.
[[nodiscard]] Result<recipe::JoinedRecipe> join(const Library& library, const std::string& recipe_id);

/// The same of one revision, "id.rREVISION".
[[nodiscard]] Result<recipe::JoinedRecipe> join_revision(const Library& library, const std::string& revision);

/// JSON text of a joined recipe as the record keeps it, and back. Round trip is exact.
[[nodiscard]] std::string to_json(const recipe::JoinedRecipe& joined);
[[nodiscard]] Result<recipe::JoinedRecipe> from_json(const std::string& text);

/// Who and what this shop has: people, lots, and what falls due when. Days are civil days as days since
/// 1970-01-01 (UTC).
using people::Person;
struct Lot {
  std::string id;
  std::string of;  ///< rope or terminal id
  bool quarantined = false;
  std::string certificate;  ///< maker's paper, free text
};
struct DiePairCare {
  std::string serial;  ///< of the pair
  std::int64_t inspection_due_day = 0;
  std::uint32_t strokes_at_register = 0;  ///< strokes on the pair when the register was written
};
struct Shop {
  std::string name;
  std::map<std::string, Person> people;
  std::map<std::string, Lot> rope_lots, terminal_lots;
  std::map<std::string, std::int64_t> gauge_calibration_due_day;  ///< gauge id -> last day
  std::map<std::string, DiePairCare> die_pairs;                   ///< die pair id -> care
  std::map<std::string, std::int64_t> press_calibration_due_day;  ///< press id -> last day
};
struct ShopResult {
  Shop shop;
  std::vector<Problem> faults;
};
/// Reads a shop register and checks what it names against the library. The shop holds every row that has no
/// fault.
[[nodiscard]] ShopResult load_shop(const std::filesystem::path& file, const Library& library);

}  // namespace shankwright::library
