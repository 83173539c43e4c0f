#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace shankwright::library {

/// Insertions, deletions, replacements and swaps of neighbours that turn one name into the other (optimal
/// string alignment distance). Case is not counted.
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

/// The known name nearest to `name`, or an empty string when none is near enough to be what was meant (about
/// a third of its letters).
[[nodiscard]] std::string nearest(std::string_view name, const std::vector<std::string>& known);

/// "one of a, b, c" with the nearest named first where there is one: "b (did you mean it?) ..." in plain
/// words.
[[nodiscard]] std::string one_of(std::string_view name, const std::vector<std::string>& known);

}  // namespace shankwright::library
