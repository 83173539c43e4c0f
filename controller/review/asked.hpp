#pragma once
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// What a person types into one box, as conditions of a search. Pure: the names a shop has come in, no clock.
///
/// Between blanks stands one of
///   a serial, or its beginning      SW-000123-T0, sw-0001
///   a day, month, week, year        2031-05-04, 2031-05, 2031-W18, 2031 (ISO 8601)
///   a range of them                 2031-05-01/2031-05-31, 2031-05-01/.. (ISO 8601), 2031-05-01..2031-05-31
///   a verdict                       accepted, re-pressed, scrapped, held, open
///   the name of something known     hex-6mm, caliper-1, RL-1004, a person's or recipe's id, a finding's code
///   what it is, and its name        job J-2207, rope lot RL-1004, die:hex-6mm, from 2031-05-01 until
///   2031-05-31 anything else                   a word of ids, jobs, reasons, remarks; "in quotes" is always
///   words
/// All conditions hold together, as ports::FittingFilter has it.
namespace shankwright::review {

/// What the shop has names for. Letter case is not counted when a name is looked up; the name as written here
/// goes into the filter.
struct KnownNames {
  std::set<std::string> recipes, people, rope_lots, terminal_lots, die_pairs, gauges, findings;
};

/// One thing that was read.
struct ReadPart {
  /// "serial", "serial_prefix", "from", "until", "days", "verdict", "recipe", "job", "operator", "rope_lot",
  /// "terminal_lot", "die_pair", "gauge", "finding", "word". Sent by name: never rename one.
  std::string as;
  std::string value;  ///< as it is looked for; of days "2031-05-04"; of "days" the first and the last, "A/B"
  std::string words;  ///< "die pair hex-6mm": the condition in English
};

struct Asked {
  ports::FittingFilter filter;
  std::vector<ReadPart> parts;
  std::string in_words;          ///< "die pair hex-6mm, begun from 2031-05-01 to 2031-05-31"; "every fitting"
  std::string serial_typed;      ///< what may have been meant as a serial: whole, mistyped or begun; or empty
  bool serial_mistyped = false;  ///< it has the length of a serial, and its check characters do not fit
};

/// A Problem (place "ask") says what cannot be asked for: two die pairs at once, a day that there is not,
/// more than 200 bytes.
[[nodiscard]] Result<Asked> read_asked(std::string_view text, const KnownNames& known);

inline constexpr std::size_t asked_bytes_most = 200;

}  // namespace shankwright::review
