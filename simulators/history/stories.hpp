#pragma once
#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"

/// Fittings as a station recorded them in a demonstration (stories.jsonl, taken by take_stories.py), with
/// blanks for what differs from one fitting to the next.
namespace shankwright::history {

/// Numbers of the blanks that a text can have. The first ones have names; the rest belong to the gauges.
class Blanks {
 public:
  enum Known : std::size_t {
    operator_id,
    operator_name,
    qualified_until,
    die_pair,
    die_serial,
    strokes,
    die_due,
    press_due,
    rope_lot,
    rope_certificate,
    terminal_lot,
    terminal_certificate,
    revision,
    known_count
  };
  [[nodiscard]] std::size_t of_gauge(const std::string& id);
  [[nodiscard]] static std::size_t due_of(std::size_t gauge) { return gauge + 1; }
  [[nodiscard]] const std::map<std::string, std::size_t>& gauges() const { return gauges_; }
  [[nodiscard]] std::size_t count() const { return known_count + 2 * gauges_.size(); }

 private:
  std::map<std::string, std::size_t> gauges_;
};

/// A text in pieces: what stands, and after it a blank.
class Text {
 public:
  /// "@7@" is blank 7; with its quotes where it reads "@#7@".
  explicit Text(std::string_view marked = {});
  [[nodiscard]] std::string filled(const std::vector<std::string>& values) const;

 private:
  struct Piece {
    std::string stands;
    std::size_t blank;
  };
  std::vector<Piece> pieces_;
  std::string end_;
};

/// A bite's trace without its noise, and how much there was, in counts of 0.1 bar and 0.001 mm.
struct Trace {
  std::vector<std::uint32_t> times_ms;
  std::vector<double> pressure_counts, gap_counts;
  double pressure_noise = 0, gap_noise = 0;  ///< standard deviations
};

struct StoryEntry {
  std::int64_t after_ms = 0;
  std::string kind, event, stage;
  bool by_station = false, finds = false;  ///< finds: its body tells findings
  Text body;
  std::string state_json;
  Trace trace;  ///< empty without a bite
};

struct Story {
  std::string name, recipe, die_pair, ends;  ///< ends: the verdict it comes to
  std::vector<StoryEntry> entries;
};

struct Stories {
  Blanks blanks;
  std::map<std::string, Text> documents;  ///< joined recipes by recipe
  std::vector<Story> stories;
};

/// Those taken in when this was built. Throws for a damaged file: that is our own mistake.
[[nodiscard]] const Stories& stories();

}  // namespace shankwright::history
