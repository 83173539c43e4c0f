#include <fmt/format.h>

#include "label/layout.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::label {
namespace {

/// Every run of dark modules in a row as one rectangle of a single path: no hairlines between neighbours.
std::string path_of(const Layout& layout) {
  std::string out;
  const auto& matrix = layout.matrix;
  for (std::size_t row = 0; row < matrix.side; ++row)
    for (std::size_t column = 0; column < matrix.side; ++column) {
      if (!matrix.at(row, column)) continue;
      std::size_t end = column;
      while (end < matrix.side && matrix.at(row, end)) ++end;
      const double x = layout.matrix_left_mm + layout.module_mm * static_cast<double>(column);
      const double y = layout.matrix_top_mm + layout.module_mm * static_cast<double>(row);
      out += fmt::format("M{:.4f} {:.4f}h{:.4f}v{:.4f}h{:.4f}z", x, y,
                         layout.module_mm * static_cast<double>(end - column), layout.module_mm,
                         -layout.module_mm * static_cast<double>(end - column));
      column = end;
    }
  return out;
}

}  // namespace

Result<std::string> to_svg(const Label& label, const LabelSize& size) {
  const typeset::Typesetter typesetter;
  const auto laid = lay_out(typesetter, label, size);
  if (!laid) return laid.problem();
  const auto& layout = laid.value();
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.3f}mm\" height=\"{1:.3f}mm\" viewBox=\"0 0 "
      "{0:.3f} "
      "{1:.3f}\" role=\"img\">\n<title>Label of {2}</title>\n"
      "<rect width=\"{0:.3f}\" height=\"{1:.3f}\" fill=\"#fff\"/>\n"
      "<path d=\"{3}\" fill=\"#000\" shape-rendering=\"crispEdges\"/>\n",
      size.width_mm, size.height_mm, quantity::as_markup(label.serial), path_of(layout));
  for (const auto& line : layout.lines) {
    if (line.inverse)
      out += fmt::format("<rect x=\"{:.3f}\" y=\"{:.3f}\" width=\"{:.3f}\" height=\"{:.3f}\"/>\n",
                         layout.text_left_mm - 0.2, line.top,
                         layout.text_right_mm - layout.text_left_mm + 0.4, line.size_mm * 1.35);
    // textLength holds the words to the room they were given, whatever font stands in for DejaVu Sans.
    out += fmt::format(
        "<text x=\"{:.3f}\" y=\"{:.3f}\" font-family=\"DejaVu Sans, sans-serif\" font-size=\"{:.3f}\"{}"
        " fill=\"{}\" textLength=\"{:.3f}\" lengthAdjust=\"spacingAndGlyphs\">{}</text>\n",
        line.x, line.top + line.size_mm * 1.02, line.size_mm, line.bold ? " font-weight=\"bold\"" : "",
        line.inverse ? "#fff" : "#000", line.width_mm, quantity::as_markup(line.text));
  }
  return out + "</svg>\n";
}

}  // namespace shankwright::label
