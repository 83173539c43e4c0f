#include "typeset/harmless.hpp"

#include <cstdint>
#include <utility>

#include "quantity/as_written.hpp"

namespace shankwright::typeset {
namespace {

/// The code point that begins at `at`, well-formed by the caller's word; `at` moves behind it.
std::uint32_t take(std::string_view text, std::size_t& at) {
  const auto byte = [&] { return static_cast<std::uint8_t>(text[at++]); };
  const std::uint32_t lead = byte();
  if (lead < 0x80) return lead;
  const int more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : 1;
  std::uint32_t point = lead & (0x3FU >> static_cast<unsigned>(more));
  for (int i = 0; i < more; ++i) point = (point << 6U) | (byte() & 0x3FU);
  return point;
}

constexpr bool within(std::uint32_t point, std::uint32_t first, std::uint32_t last) {
  return point >= first && point <= last;
}

/// Unicode 15: controls, formats that reorder or hide, private use, non-characters.
bool hides_or_turns(std::uint32_t point) {
  return point < 0x20 || within(point, 0x7F, 0x9F) || point == 0xAD || point == 0x61C || point == 0x180E ||
         within(point, 0x200B, 0x200F) || within(point, 0x2028, 0x202E) || within(point, 0x2060, 0x206F) ||
         point == 0xFEFF || within(point, 0xFFF0, 0xFFFC) || within(point, 0xFE00, 0xFE0F) ||
         within(point, 0xE000, 0xF8FF) || within(point, 0xFDD0, 0xFDEF) || (point & 0xFFFEU) == 0xFFFE ||
         point >= 0xE0000;
}

bool stacks(std::uint32_t point) {
  return within(point, 0x300, 0x36F) || within(point, 0x483, 0x489) || within(point, 0x591, 0x5C7) ||
         within(point, 0x610, 0x61A) || within(point, 0x64B, 0x65F) || within(point, 0xE31, 0xE3A) ||
         within(point, 0xE47, 0xE4E) || within(point, 0x1AB0, 0x1AFF) || within(point, 0x1DC0, 0x1DFF) ||
         within(point, 0x20D0, 0x20FF) || within(point, 0xFE20, 0xFE2F);
}

class Cleaner {
 public:
  explicit Cleaner(std::size_t most) : most_(most) {}

  void put(std::uint32_t point, std::string_view bytes) {
    if (++characters_ > most_) return;
    if (point == '\n' || point == '\r' || point == '\t') {
      out_ += ' ';
      return;
    }
    accents_ = stacks(point) ? accents_ + 1 : 0;
    if (hides_or_turns(point) || accents_ > accents_most)
      out_ += '?';
    else
      out_ += bytes;
  }

  std::string finish() && {
    if (characters_ > most_)
      out_ += "... (" + std::to_string(characters_ - most_) + " more characters are in the record)";
    return std::move(out_);
  }

 private:
  static constexpr int accents_most = 2;
  std::size_t most_, characters_ = 0;
  int accents_ = 0;
  std::string out_;
};

}  // namespace

std::string harmless(std::string_view text, std::size_t most) {
  Cleaner cleaner(most);
  while (!text.empty()) {
    const std::size_t good = quantity::first_invalid_utf8(text).value_or(text.size());
    for (std::size_t at = 0; at < good;) {
      const std::size_t begin = at;
      const std::uint32_t point = take(text, at);
      cleaner.put(point, text.substr(begin, at - begin));
    }
    const bool broken = good < text.size();
    if (broken) cleaner.put(0, {});
    text.remove_prefix(good + (broken ? 1 : 0));
  }
  return std::move(cleaner).finish();
}

}  // namespace shankwright::typeset
