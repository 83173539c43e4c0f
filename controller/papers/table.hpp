#pragma once
#include <string>
#include <vector>

#include "typeset/words.hpp"

namespace shankwright::papers {

struct Cell {
  std::string text;
  bool bold = false;
  typeset::Colour colour = typeset::colour::ink;
};

struct Column {
  std::string title;
  double share = 1;  ///< of the width
  typeset::Align align = typeset::Align::left;
};

/// The heading is repeated on every page the table reaches.
struct Table {
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;
};

}  // namespace shankwright::papers
