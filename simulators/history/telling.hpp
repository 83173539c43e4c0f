#pragma once
#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "simulators/history/stories.hpp"
#include "simulators/plant/random.hpp"

namespace shankwright::history {

/// One fitting as it is to be recorded; serials are put in by whoever records it.
struct Fitting {
  ports::FittingRow row;
  std::vector<ports::NewEntry> entries;  ///< the admission first
  bool released = false;                 ///< by its last entry
  std::string correction;                ///< a remark that corrects its second entry; empty for none
};

/// A press shop over the years: jobs, lots and dies one after the other, people and gauges in turn, and now
/// and then a fitting that is refused, pressed again, held or scrapped. The same seed tells the same on every
/// machine.
class Telling {
 public:
  Telling(std::uint64_t seed, std::int64_t first_utc_us, std::int64_t last_utc_us, std::int64_t fittings);
  /// The next fitting; some of the last ones stay as they are, held or half done. In brief it has its first
  /// and its last entry, the first reading, and those with findings or reasons, without traces.
  [[nodiscard]] Fitting next(bool brief = false);

 private:
  struct Recipe {
    std::string die_pair;
    int rope_lot = 0, terminal_lot = 0, rope_lot_left = 0, terminal_lot_left = 0, dies = 0;
    std::int64_t strokes = 0;
  };
  void fill_blanks(const Story& story, std::int64_t at_utc_us);
  [[nodiscard]] const Story& choose();
  [[nodiscard]] std::vector<ports::Sample> bite(const Trace& trace);
  void end_hold(Fitting& fitting, const Story& story);

  plant::Random dice_;
  std::int64_t first_utc_us_, last_utc_us_, fittings_, told_ = 0;
  std::map<std::string, Recipe> recipes_;
  std::vector<const Story*> usual_;
  std::vector<std::vector<const Story*>> special_;
  std::vector<float> noise_;
  int job_ = 0, job_left_ = 0, lots_ = 1000;
  std::size_t operator_ = 0;
  std::string job_name_, job_recipe_;
  std::vector<std::string> values_;
};

}  // namespace shankwright::history
