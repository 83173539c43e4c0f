#include "library/nearest.hpp"

#include <algorithm>

namespace shankwright::library {
namespace {

/// Names of ours are short; what is longer than this is no misspelling of one.
constexpr std::size_t name_length_most = 80;

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

}  // namespace

std::size_t edit_distance(std::string_view first, std::string_view second) {
  const std::string a = lower(first);
  const std::string b = lower(second);
  std::vector<std::vector<std::size_t>> cost(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) cost[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) cost[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = cost[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      cost[i][j] = std::min({replaced, cost[i - 1][j] + 1, cost[i][j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        cost[i][j] = std::min(cost[i][j], cost[i - 2][j - 2] + 1);
      }
    }
  }
  return cost[a.size()][b.size()];
}

std::string nearest(std::string_view name, const std::vector<std::string>& known) {
  if (name.empty() || name.size() > name_length_most) return "";
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(2, name.size() / 3) + 1;
  for (const std::string& candidate : known) {
    const std::size_t distance = edit_distance(name, candidate);
    if (distance < best_distance && distance < candidate.size()) {
      best = candidate;
      best_distance = distance;
    }
  }
  return best;
}

std::string one_of(std::string_view name, const std::vector<std::string>& known) {
  constexpr std::size_t listed_most = 12;
  const std::string near = nearest(name, known);
  std::string out;
  if (known.size() <= listed_most) {
    for (const std::string& candidate : known) out += (out.empty() ? "one of " : ", ") + candidate;
    if (!near.empty()) out += "; the nearest is \"" + near + "\"";
  } else {
    out = near.empty() ? "a known name" : "a known name; the nearest is \"" + near + "\"";
  }
  return out;
}

}  // namespace shankwright::library
