#include "label/layout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "record/serial.hpp"
#include "typeset/harmless.hpp"

namespace shankwright::label {
namespace {

constexpr double margin_mm = 0.8, dot_mm = 25.4 / 600, least_module_mm = 0.25;
constexpr double line_pitch = 1.35;             // of the font size, as typeset::Words has it
constexpr double least_serial_mm = 1.0 / 0.73;  // capitals of DejaVu Sans are 0.73 of the size
constexpr double least_other_mm = 0.8 / 0.73;   // before a line is cut

double width_at(const typeset::Typesetter& typesetter, const std::string& text, bool bold, double size) {
  return typeset::Words(typesetter, text, {.size = size, .bold = bold}, 0).width();
}

/// Cut at the end until it fits; whole characters only.
std::string cut_to_fit(const typeset::Typesetter& typesetter, std::string text, bool bold, double size,
                       double room) {
  if (width_at(typesetter, text, bold, size) <= room) return text;
  while (!text.empty() && width_at(typesetter, text + "\u2026", bold, size) > room) {
    while (!text.empty() && (static_cast<unsigned char>(text.back()) & 0xC0U) == 0x80U) text.pop_back();
    if (!text.empty()) text.pop_back();
  }
  return text + "\u2026";
}

}  // namespace

Result<Layout> lay_out(const typeset::Typesetter& typesetter, const Label& label, const LabelSize& size) {
  auto matrix = data_matrix(record::bare(label.serial));
  if (!matrix) return matrix.problem();
  Layout out;
  out.size = size;
  out.matrix = std::move(matrix).value();
  const auto too_small = [&](const char* what) {
    return Problem{"label size", fmt::format("{:.1f} mm by {:.1f} mm", size.width_mm, size.height_mm),
                   std::string("a label with room for ") + what + ", for example 30mmx15mm"};
  };

  const double modules = static_cast<double>(out.matrix.side) + 2;  // with its quiet zone
  // Two fifths for the symbol, less where the serial would have too little.
  const double serial_wide = width_at(typesetter, label.serial, true, 100) / 100;
  const double square = std::min({size.height_mm, size.width_mm * 0.4,
                                  size.width_mm - 2 * margin_mm - serial_wide * least_serial_mm * 1.01});
  out.module_mm = std::floor(std::min(square / modules, 1.0) / dot_mm) * dot_mm;
  if (out.module_mm < least_module_mm) return too_small("a symbol that can be read");
  out.matrix_left_mm = out.module_mm;
  out.matrix_top_mm = (size.height_mm - out.module_mm * static_cast<double>(out.matrix.side)) / 2;

  out.text_left_mm = out.module_mm * modules + margin_mm;
  out.text_right_mm = size.width_mm - margin_mm;
  const double room = out.text_right_mm - out.text_left_mm;
  const double tall = size.height_mm - 2 * margin_mm;
  // The serial as large as the width lets it, up to three parts of what the others get.
  const double count = static_cast<double>(label.lines.size()) + (label.warning.empty() ? 0 : 1);
  const double by_width = room / serial_wide;
  const double by_height = tall / line_pitch / (1 + count * 0.7);
  const double serial_mm = std::min({by_width, by_height, 6.0});
  if (serial_mm < least_serial_mm) return too_small("the serial in letters that can be read");
  // All the others in one size: the longest line decides, down to what can still be read.
  double other_mm =
      std::min(serial_mm * 0.9, (tall - serial_mm * line_pitch) / line_pitch / std::max(1.0, count));
  for (const auto& line : label.lines) {
    const double wide = width_at(typesetter, typeset::harmless(line, 200), false, 100) / 100;
    other_mm = std::min(other_mm, std::max(least_other_mm, 0.999 * room / std::max(0.01, wide)));
  }

  double top = margin_mm + std::max(0.0, (tall - line_pitch * (serial_mm + count * other_mm)) / 2);
  const auto add = [&](const std::string& text, double font_mm, bool may_be_cut, bool inverse) {
    const bool bold = !may_be_cut;
    auto shown = typeset::harmless(text, 200);
    double used = font_mm;
    if (may_be_cut)
      shown = cut_to_fit(typesetter, std::move(shown), bold, used, room);
    else
      used = std::min(used, 0.999 * 100 * room / width_at(typesetter, shown, bold, 100));
    const double width = width_at(typesetter, shown, bold, used);
    out.lines.push_back({std::move(shown), out.text_left_mm, top, used, width, bold, inverse});
    top += font_mm * line_pitch;
  };
  add(label.serial, serial_mm, false, false);
  if (!label.warning.empty()) add(label.warning, other_mm, false, true);
  for (const auto& line : label.lines) add(line, other_mm, true, false);
  return out;
}

}  // namespace shankwright::label
