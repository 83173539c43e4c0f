#include "record/numbers_like.hpp"

#include <algorithm>
#include <cstdlib>
#include <string>
#include <unordered_set>
#include <utility>

#include "record/serial.hpp"

namespace shankwright::record {
namespace {

constexpr int most_edits = 2;
constexpr std::ptrdiff_t letters = 2, checks = 2;  // before and behind the digits
constexpr std::size_t least_digits = 6, most_digits = 18, longest = 24;
constexpr std::string_view digits = "0123456789";

using Texts = std::unordered_set<std::string>;

void edit_once(const std::string& text, Texts& out) {
  for (std::size_t at = 0; at <= text.size(); ++at) {
    for (const char digit : digits) {
      auto more = text;
      more.insert(at, 1, digit);
      out.insert(std::move(more));
    }
    if (at == text.size()) break;
    for (const char digit : digits) {
      auto other = text;
      other[at] = digit;
      out.insert(std::move(other));
    }
    out.insert(text.substr(0, at) + text.substr(at + 1));
    if (at + 1 < text.size()) {
      auto exchanged = text;
      std::swap(exchanged[at], exchanged[at + 1]);
      out.insert(std::move(exchanged));
    }
  }
}

// Letters that stay after all edits are no number: what cannot lose them in time is left out.
std::size_t letters_in(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char one) { return one < '0' || one > '9'; }));
}

void edited(const std::string& text, int edits, Texts& out) {
  if (letters_in(text) > static_cast<std::size_t>(edits)) return;
  if (!out.insert(text).second && edits == 0) return;
  if (edits == 0) return;
  Texts once;
  edit_once(text, once);
  for (const auto& next : once) edited(next, edits - 1, out);
}

}  // namespace

std::vector<std::int64_t> numbers_like(std::string_view typed, std::int64_t newest) {
  std::vector<std::int64_t> out;
  const auto text = bare(typed);
  if (text.size() > longest) return out;
  const auto size = static_cast<std::ptrdiff_t>(text.size());
  Texts candidates;
  // The digits may begin and end up to two characters from where they should; what that costs is taken off.
  for (std::ptrdiff_t before = 0; before <= letters + most_edits; ++before)
    for (std::ptrdiff_t behind = 0; behind <= checks + most_edits && before + behind <= size; ++behind) {
      const auto left = most_edits - static_cast<int>(std::abs(before - letters) + std::abs(behind - checks));
      if (left < 0) continue;
      edited(text.substr(static_cast<std::size_t>(before), static_cast<std::size_t>(size - before - behind)),
             left, candidates);
    }
  for (const auto& candidate : candidates) {
    if (candidate.size() < least_digits || candidate.size() > most_digits || letters_in(candidate) > 0)
      continue;
    if (candidate.size() > least_digits && candidate.front() == '0') continue;
    const auto number = std::strtoll(candidate.c_str(), nullptr, 10);
    if (number >= 1 && number <= newest) out.push_back(number);
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace shankwright::record
