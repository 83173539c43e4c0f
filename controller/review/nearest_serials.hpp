#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace shankwright::review {

/// The serials a person may have meant, nearest first, at most `most`: those that differ from what was typed,
/// without hyphens and in capitals, by no more than two wrong, missing, additional or exchanged characters,
/// or that begin with it. Equally near ones in the order given.
[[nodiscard]] std::vector<std::string> nearest_serials(std::string_view typed,
                                                       const std::vector<std::string>& known,
                                                       std::size_t most);

}  // namespace shankwright::review
