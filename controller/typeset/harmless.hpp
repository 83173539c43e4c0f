#pragma once
#include <cstddef>
#include <string>
#include <string_view>

namespace shankwright::typeset {

/// Text from the record made fit for paper, where nobody can look at its bytes: line ends and tabs become
/// blanks; other control characters, bytes that are not UTF-8, and what turns, hides or stacks other
/// characters (direction marks, zero-width characters, a third accent on one letter) become "?". Longer than
/// `most` characters, it is cut and says by how much.
[[nodiscard]] std::string harmless(std::string_view text, std::size_t most = 4000);

}  // namespace shankwright::typeset
