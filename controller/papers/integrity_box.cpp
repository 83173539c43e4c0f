#include "papers/integrity_box.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "label/data_matrix.hpp"
#include "papers/words_of.hpp"
#include "record/seal_code.hpp"

namespace shankwright::papers {
namespace {

constexpr double module_pt = 0.55 * 72 / 25.4;  // 0.55 mm: any hand-held reader, and a photograph of the page

void draw_matrix(Sheet& sheet, const label::DataMatrix& matrix, double x, double y) {
  cairo_t* const onto = sheet.context();
  cairo_set_source_rgb(onto, 0, 0, 0);
  for (std::size_t row = 0; row < matrix.side; ++row)
    for (std::size_t column = 0; column < matrix.side; ++column)
      if (matrix.at(row, column))
        cairo_rectangle(onto, x + module_pt * static_cast<double>(column),
                        y + module_pt * static_cast<double>(row), module_pt, module_pt);
  cairo_fill(onto);
}

}  // namespace

void integrity_box(Sheet& sheet, const ports::Seal& seal) {
  const auto code = record::full_code(seal);
  const auto matrix = label::data_matrix(code);
  if (!matrix) throw std::logic_error("a seal's code is digits and points: " + matrix.problem().text());
  const double side = module_pt * (static_cast<double>(matrix.value().side) + 4);
  const double text_x = sheet.left() + side + 12, text_wide = sheet.width() - side - 12;
  const auto words = [&](std::string_view text, const typeset::Style& style) {
    return typeset::Words(sheet.typesetter(), text, style, text_wide);
  };
  const auto what = words(
      fmt::format(
          "Everything this paper says was on record when the record was sealed, {}, over entry {} and every "
          "entry before it. To hold the record against this paper, scan the symbol and ask the station's "
          "computer, or anybody's who has a copy of the record and the shop's public key:",
          instant_text(seal.at_utc_us), seal.sequence),
      {.size = 8});
  const auto command = words("shankwright verify --code CODE", {.size = 8.5, .bold = true, .mono = true});
  const auto by_hand =
      words("CODE is what the symbol says. To type it instead, take the short code:", {.size = 8});
  const auto short_code = words(record::short_code(seal), {.size = 11, .bold = true, .mono = true});
  const auto full = words("In full: " + code, {.size = 6, .mono = true, .colour = typeset::colour::faint});
  double below = 0;
  for (const auto* one : {&what, &command, &by_hand, &short_code, &full}) below += one->height() + 4;
  const double top = sheet.room(std::max(side, below) + 4);
  draw_matrix(sheet, matrix.value(), sheet.left() + 2 * module_pt, top + 2 * module_pt);
  double y = top;
  for (const auto* one : {&what, &command, &by_hand, &short_code, &full}) {
    one->draw(sheet.context(), text_x, y);
    y += one->height() + 4;
  }
}

std::string integrity_line(const ports::Seal& seal) {
  return fmt::format("Integrity code {}   sealed {}", record::short_code(seal), instant_text(seal.at_utc_us));
}

}  // namespace shankwright::papers
