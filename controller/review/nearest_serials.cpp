#include "review/nearest_serials.hpp"

#include <algorithm>
#include <utility>

#include "library/nearest.hpp"

namespace shankwright::review {
namespace {

constexpr std::size_t farthest = 2;
constexpr std::size_t least_beginning = 4;

std::string bare(std::string_view text) {
  std::string out;
  for (const char character : text)
    if (character != '-' && character != ' ')
      out += character >= 'a' && character <= 'z' ? static_cast<char>(character - 'a' + 'A') : character;
  return out;
}

}  // namespace

std::vector<std::string> nearest_serials(std::string_view typed, const std::vector<std::string>& known,
                                         std::size_t most) {
  const auto wanted = bare(typed);
  std::vector<std::pair<std::size_t, std::string>> near;
  for (const auto& serial : known) {
    const auto candidate = bare(serial);
    const bool begins = wanted.size() >= least_beginning && candidate.starts_with(wanted);
    const auto distance = library::edit_distance(wanted, candidate);
    if (begins || distance <= farthest) near.emplace_back(begins ? 0 : distance, serial);
  }
  std::stable_sort(near.begin(), near.end(),
                   [](const auto& left, const auto& right) { return left.first < right.first; });
  std::vector<std::string> out;
  for (std::size_t index = 0; index < near.size() && index < most; ++index) out.push_back(near[index].second);
  return out;
}

}  // namespace shankwright::review
