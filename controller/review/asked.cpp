#include "review/asked.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "quantity/as_written.hpp"
#include "record/serial.hpp"
#include "review/period.hpp"
#include "review/time.hpp"

namespace shankwright::review {
namespace {

struct Token {
  std::string text;
  bool quoted = false;
};

bool blank(char character) {
  return static_cast<unsigned char>(character) <= ' ' || character == 0x7f;
}

std::string small(std::string_view text) {
  std::string out(text);
  for (char& character : out)
    if (character >= 'A' && character <= 'Z') character = static_cast<char>(character - 'A' + 'a');
  return out;
}

std::vector<Token> tokens_of(std::string_view text) {
  std::vector<Token> out;
  for (std::size_t at = 0; at < text.size();) {
    if (blank(text[at])) {
      ++at;
      continue;
    }
    if (text[at] == '"') {
      const auto end = std::min(text.find('"', at + 1), text.size());
      if (end > at + 1) out.push_back({std::string(text.substr(at + 1, end - at - 1)), true});
      at = end + 1;
      continue;
    }
    auto end = at;
    while (end < text.size() && !blank(text[end]) && text[end] != '"') ++end;
    out.push_back({std::string(text.substr(at, end - at)), false});
    at = end;
  }
  return out;
}

/// What stands before a name and says what it is; the longer ones first.
struct Key {
  std::string_view first, second, as;
};
constexpr std::array<Key, 19> keys = {{{"rope", "lot", "rope_lot"},
                                       {"terminal", "lot", "terminal_lot"},
                                       {"die", "pair", "die_pair"},
                                       {"rope_lot", "", "rope_lot"},
                                       {"terminal_lot", "", "terminal_lot"},
                                       {"die_pair", "", "die_pair"},
                                       {"die", "", "die_pair"},
                                       {"dies", "", "die_pair"},
                                       {"lot", "", "lot"},
                                       {"serial", "", "serial"},
                                       {"job", "", "job"},
                                       {"recipe", "", "recipe"},
                                       {"operator", "", "operator"},
                                       {"gauge", "", "gauge"},
                                       {"finding", "", "finding"},
                                       {"verdict", "", "verdict"},
                                       {"from", "", "from"},
                                       {"since", "", "from"},
                                       {"until", "", "until"}}};

constexpr std::array<std::string_view, 5> verdicts = {"accepted", "re-pressed", "scrapped", "held", "open"};

class Reading {
 public:
  Reading(std::vector<Token> tokens, const KnownNames& known) : tokens_(std::move(tokens)), known_(known) {}

  Result<Asked> run() {
    for (at_ = 0; at_ < tokens_.size() && !problem_; ++at_) read_one();
    if (problem_) return *problem_;
    if (!words_.empty()) {
      out_.filter.text = words_;
      part("word", words_, fmt::format("the word{} \"{}\"", many_words_ ? "s" : "", words_));
    }
    for (const auto& said : out_.parts) out_.in_words += (out_.in_words.empty() ? "" : ", ") + said.words;
    if (out_.parts.empty()) out_.in_words = "every fitting";
    return std::move(out_);
  }

 private:
  void part(std::string_view as, const std::string& value, std::string words) {
    out_.parts.push_back({std::string(as), value, std::move(words)});
  }
  void fail(std::string found, std::string expected) {
    problem_ = Problem{"ask", quantity::as_written(found), std::move(expected)};
  }

  void read_one() {
    const Token& token = tokens_[at_];
    if (token.quoted) return word(token.text);
    const auto words_before = words_.size();
    read_plain(token);
    follows_a_word_ = words_.size() > words_before;
  }

  void read_plain(const Token& token) {
    if (read_keyed(token)) return;
    if (const auto period = read_period(token.text)) return take_period(*period, token.text);
    if (read_serial(token.text, false)) return;
    if (std::find(verdicts.begin(), verdicts.end(), small(token.text)) != verdicts.end())
      return named("verdict", small(token.text));
    if (read_known(token.text)) return;
    word(token.text);
  }

  /// "die:hex-6mm", "die hex-6mm", "die pair hex-6mm".
  bool read_keyed(const Token& token) {
    if (const auto colon = token.text.find_first_of(":="); colon != std::string::npos && colon > 0) {
      const auto* key = key_of(small(std::string_view(token.text).substr(0, colon)), "");
      if (key == nullptr) return false;
      auto value = token.text.substr(colon + 1);
      if (value.empty()) {
        if (at_ + 1 >= tokens_.size()) return false;
        value = tokens_[++at_].text;
      }
      keyed(key->as, value);
      return true;
    }
    for (const std::size_t taken : {std::size_t{2}, std::size_t{1}}) {
      if (at_ + taken >= tokens_.size()) continue;
      if (taken == 2 && tokens_[at_ + 1].quoted) continue;
      const auto* key = key_of(small(token.text), taken == 2 ? small(tokens_[at_ + 1].text) : "");
      if (key == nullptr) continue;
      if (key->as == "job" && follows_a_word_) continue;  // "Demo job 12" is what somebody called a job
      at_ += taken;
      keyed(key->as, tokens_[at_].text);
      return true;
    }
    return false;
  }
  static const Key* key_of(std::string_view first, std::string_view second) {
    const auto found = std::find_if(
        keys.begin(), keys.end(), [&](const Key& key) { return key.first == first && key.second == second; });
    return found == keys.end() ? nullptr : &*found;
  }

  void keyed(std::string_view as, const std::string& value) {
    if (as == "serial") {
      if (!read_serial(value, true)) word(value);
    } else if (as == "from" || as == "until") {
      const auto period = read_period(value);
      if (!period) return fail(value, "a day, for example 2031-05-04");
      if (!*period) return void(problem_ = period->problem());
      const Period whole = period->value();
      take_period(as == "from" ? Period{whole.from_utc_us, {}} : Period{{}, whole.until_utc_us}, value);
    } else if (as == "lot") {
      const auto rope = spelt(known_.rope_lots, value), terminal = spelt(known_.terminal_lots, value);
      // Lots of an earlier register, and those that are both, are found as words: every lot's name is one.
      if (rope.has_value() == terminal.has_value()) return word(value);
      named(rope ? "rope_lot" : "terminal_lot", rope ? *rope : *terminal);
    } else if (as == "verdict") {
      if (std::find(verdicts.begin(), verdicts.end(), small(value)) == verdicts.end())
        return fail(value, "a verdict: accepted, re-pressed, scrapped, held, open");
      named(as, small(value));
    } else {
      const auto* names = names_of(as);
      named(as, names == nullptr ? value : spelt(*names, value).value_or(value));
    }
  }

  [[nodiscard]] const std::set<std::string>* names_of(std::string_view as) const {
    if (as == "recipe") return &known_.recipes;
    if (as == "operator") return &known_.people;
    if (as == "rope_lot") return &known_.rope_lots;
    if (as == "terminal_lot") return &known_.terminal_lots;
    if (as == "die_pair") return &known_.die_pairs;
    if (as == "gauge") return &known_.gauges;
    if (as == "finding") return &known_.findings;
    return nullptr;
  }
  static std::optional<std::string> spelt(const std::set<std::string>& names, std::string_view typed) {
    if (const auto found = names.find(std::string(typed)); found != names.end()) return *found;
    const auto wanted = small(typed);
    for (const auto& name : names)
      if (small(name) == wanted) return name;
    return std::nullopt;
  }

  /// A name that only one kind of thing has.
  bool read_known(const std::string& typed) {
    std::string_view as;
    std::string name;
    for (const std::string_view kind :
         {"recipe", "operator", "rope_lot", "terminal_lot", "die_pair", "gauge", "finding"}) {
      const auto found = spelt(*names_of(kind), typed);
      if (!found) continue;
      if (!as.empty()) return false;
      as = kind;
      name = *found;
    }
    if (as.empty()) return false;
    named(as, name);
    return true;
  }

  void named(std::string_view as, const std::string& value) {
    struct Slot {
      std::string_view as;
      std::string* held;
      std::string_view called;
    };
    auto& f = out_.filter;
    const std::array<Slot, 9> slots = {{{"verdict", &f.verdict, "verdict"},
                                        {"recipe", &f.recipe_id, "recipe"},
                                        {"job", &f.job, "job"},
                                        {"operator", &f.operator_id, "begun by"},
                                        {"rope_lot", &f.rope_lot, "rope lot"},
                                        {"terminal_lot", &f.terminal_lot, "terminal lot"},
                                        {"die_pair", &f.die_pair_id, "die pair"},
                                        {"gauge", &f.gauge_id, "measured with"},
                                        {"finding", &f.finding_code, "finding"}}};
    const auto& slot = *std::find_if(slots.begin(), slots.end(), [&](const Slot& s) { return s.as == as; });
    if (*slot.held == value) return;
    if (!slot.held->empty())
      return fail(fmt::format("{} {} and {}", slot.called, *slot.held, value), "one at a time");
    *slot.held = value;
    part(as, value, fmt::format("{} {}", slot.called, value));
  }

  void take_period(const Result<Period>& read, const std::string& typed) {
    if (!read) return void(problem_ = read.problem());
    const Period& period = read.value();
    auto& f = out_.filter;
    if ((period.from_utc_us && f.from_utc_us) || (period.until_utc_us && f.until_utc_us))
      return fail(typed, "one range of days, for example 2031-05-01/2031-05-31");
    if (period.from_utc_us) f.from_utc_us = period.from_utc_us;
    if (period.until_utc_us) f.until_utc_us = period.until_utc_us;
    if (f.from_utc_us && f.until_utc_us && *f.from_utc_us >= *f.until_utc_us)
      return fail(typed, "the earlier day first");
    std::erase_if(out_.parts, [](const ReadPart& said) {
      return said.as == "from" || said.as == "until";
    });  // "from A until B" is told as one
    const auto first = f.from_utc_us ? day_text(*f.from_utc_us) : std::string();
    const auto last = f.until_utc_us ? day_text(*f.until_utc_us - us_per_day) : std::string();
    if (last.empty()) return part("from", first, "begun on " + first + " or later");
    if (first.empty()) return part("until", last, "begun on " + last + " or earlier");
    part("days", first + "/" + last,
         first == last ? "begun on " + first : "begun from " + first + " to " + last);
  }

  /// Whole serials, their beginnings, and what may be a mistyped one.
  bool read_serial(const std::string& typed, bool said_so) {
    const auto bare = record::bare(typed);
    const auto digits = static_cast<std::size_t>(std::count_if(
        bare.begin(), bare.end(), [](char character) { return character >= '0' && character <= '9'; }));
    const bool begins = bare.size() >= 3 && bare.starts_with("SW") && bare[2] >= '0' && bare[2] <= '9';
    for (const std::string& whole : {bare, "SW" + bare}) {
      const auto number = record::number_of(whole);
      if (!number || (whole != bare && begins)) continue;
      return serial("serial", record::serial_of(*number), "serial ");
    }
    constexpr std::size_t whole_size = 10;  // SW, six digits, two check characters
    if (!begins) {
      // Perhaps a serial with its first letters wrong: looked for as a word, and near serials offered.
      if (bare.size() + 2 >= whole_size && bare.size() <= whole_size + 2 && digits >= 5)
        out_.serial_typed = typed;
      if (!said_so) return false;
    }
    if (bare.size() >= whole_size) out_.serial_mistyped = true;
    return serial("serial_prefix", typed, "serials beginning with ");
  }
  bool serial(std::string_view as, const std::string& value, const char* words) {
    if (!out_.filter.serial_prefix.empty() && out_.filter.serial_prefix != value) {
      fail(out_.filter.serial_prefix + " and " + value, "one serial at a time");
      return true;
    }
    out_.filter.serial_prefix = out_.serial_typed = value;
    part(as, value, words + value);
    return true;
  }

  void word(const std::string& text) {
    many_words_ = many_words_ || !words_.empty() || text.find(' ') != std::string::npos;
    words_ += (words_.empty() ? "" : " ") + text;
  }

  std::vector<Token> tokens_;
  const KnownNames& known_;
  std::size_t at_ = 0;
  Asked out_;
  std::string words_;
  bool many_words_ = false, follows_a_word_ = false;
  std::optional<Problem> problem_;
};

}  // namespace

Result<Asked> read_asked(std::string_view text, const KnownNames& known) {
  if (text.size() > asked_bytes_most)
    return Problem{"ask", std::to_string(text.size()) + " bytes",
                   "at most " + std::to_string(asked_bytes_most) + " bytes"};
  return Reading(tokens_of(text), known).run();
}

}  // namespace shankwright::review
