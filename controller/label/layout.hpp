#pragma once
#include <string>
#include <vector>

#include "label/data_matrix.hpp"
#include "label/label.hpp"
#include "typeset/words.hpp"

namespace shankwright::label {

/// Where everything of a label lies, in millimetres from its upper left corner.
struct Line {
  std::string text;  ///< fit to be shown, cut to fit
  double x = 0, top = 0;
  double size_mm = 0;   ///< font size
  double width_mm = 0;  ///< that the text takes
  bool bold = false;
  bool inverse = false;  ///< white on black, across the room for text
};

struct Layout {
  LabelSize size;
  DataMatrix matrix;
  double matrix_left_mm = 0, matrix_top_mm = 0;
  double module_mm = 0;  ///< a whole number of dots of a 600 dpi printer
  double text_left_mm = 0, text_right_mm = 0;
  std::vector<Line> lines;
};

[[nodiscard]] Result<Layout> lay_out(const typeset::Typesetter& typesetter, const Label& label,
                                     const LabelSize& size);

}  // namespace shankwright::label
