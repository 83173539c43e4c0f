#pragma once
#include <cstddef>
#include <string_view>
#include <vector>

#include "quantity/result.hpp"

namespace shankwright::label {

/// A square Data Matrix symbol (ISO/IEC 16022, ECC 200) without its quiet zone, which is one module all
/// round.
struct DataMatrix {
  std::size_t side = 0;    ///< modules
  std::vector<bool> dark;  ///< row by row from the top left
  [[nodiscard]] bool at(std::size_t row, std::size_t column) const { return dark.at(row * side + column); }
};

/// Problem for an empty text, one with bytes outside printable ASCII, or one too long for the largest symbol.
[[nodiscard]] Result<DataMatrix> data_matrix(std::string_view text);

}  // namespace shankwright::label
