#include "papers/sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <numeric>

namespace shankwright::papers {

using typeset::Align;
using typeset::Style;
using typeset::Words;
namespace colour = typeset::colour;

namespace {

constexpr double margin = 45, top_margin = 44, foot_height = 64;
constexpr double padding = 2.6, between_columns = 14;

}  // namespace

Sheet::Sheet(cairo_t* onto, const typeset::Typesetter& typesetter, const PageSize& size, Running running,
             int pages_in_all)
    : onto_(onto),
      typesetter_(typesetter),
      size_(size),
      running_(std::move(running)),
      pages_in_all_(pages_in_all) {
  begin_page();
}

double Sheet::left() const {
  return margin;
}
double Sheet::width() const {
  return size_.width - 2 * margin;
}
double Sheet::left_over() const {
  return size_.height - foot_height - y_;
}

void Sheet::rule(double y, typeset::Colour of, double thickness) {
  fill(margin, y, width(), thickness, of);
}

void Sheet::fill(double x, double y, double wide, double high, typeset::Colour of) {
  cairo_set_source_rgba(onto_, of.red, of.green, of.blue, of.opacity);
  cairo_rectangle(onto_, x, y, wide, high);
  cairo_fill(onto_);
}

void Sheet::begin_page() {
  ++page_;
  y_ = top_margin;
  if (page_ == 1) return;
  const Style style{.size = 7.5, .colour = colour::faint, .one_line = true};
  auto right = style;
  right.align = Align::right;
  Words(typesetter_, running_.title, style, width() * 0.5).draw(onto_, margin, 26);
  Words(typesetter_, running_.subject, right, width() * 0.48).draw(onto_, margin + width() * 0.52, 26);
  rule(39, colour::grid, 0.8);
  y_ = 52;
}

void Sheet::end_page() {
  const double top = size_.height - foot_height + 16;
  rule(top, colour::grid, 0.8);
  const Style style{.size = 7, .colour = colour::faint, .one_line = true};
  auto right = style;
  right.align = Align::right;
  right.colour = colour::ink;
  Words(typesetter_, running_.code, {.size = 7, .colour = colour::ink, .one_line = true}, width() * 0.8)
      .draw(onto_, margin, top + 5);
  Words(typesetter_, running_.caution, style, width()).draw(onto_, margin, top + 16);
  Words(typesetter_, fmt::format("page {} of {}", page_, std::max(page_, pages_in_all_)), right,
        width() * 0.19)
      .draw(onto_, margin + width() * 0.81, top + 5);
  cairo_show_page(onto_);
}

template <typename OnNewPage, typename Behind>
void Sheet::flow(const std::vector<Piece>& pieces, double around, OnNewPage on_new_page, Behind behind) {
  double height = 0, pitch = 0;
  int lines = 0;
  for (const auto& piece : pieces) {
    height = std::max(height, piece.words->height());
    pitch = std::max(pitch, piece.words->line_height());
    lines = std::max(lines, piece.words->lines());
  }
  height += 2 * around;
  const auto new_page = [&] {
    next_page();
    on_new_page();
  };
  // Little text is never torn; a text longer than a third of a page may be.
  if (left_over() < height && height < (size_.height - foot_height) / 3) new_page();
  for (int first = 0; first < lines;) {
    int fit = static_cast<int>((left_over() - 2 * around) / pitch + 1e-6);
    if (fit < 1) {
      new_page();
      fit = std::max(1, static_cast<int>((left_over() - 2 * around) / pitch + 1e-6));
    }
    const int count = std::min(fit, lines - first);
    const double part = pitch * count + 2 * around;
    behind(y_, part);
    for (const auto& piece : pieces)
      if (first < piece.words->lines()) piece.words->draw(onto_, piece.x, y_ + around, first, count);
    y_ += part;
    first += count;
  }
}

int Sheet::finish() {
  end_page();
  return page_;
}

void Sheet::next_page() {
  end_page();
  begin_page();
}

void Sheet::space(double points) {
  y_ += points;
}

double Sheet::room(double height) {
  if (left_over() < height) next_page();
  const double top = y_;
  y_ += height;
  return top;
}

void Sheet::title(std::string_view text, std::string_view below) {
  const Words head(typesetter_, text, {.size = 19, .bold = true, .colour = colour::blue}, width());
  flow(
      {{margin, &head}}, 0, [] {}, [](double, double) {});
  const Words under(typesetter_, below, {.size = 9.5, .colour = colour::faint}, width());
  flow(
      {{margin, &under}}, 1, [] {}, [](double, double) {});
  space(8);
}

void Sheet::heading(std::string_view text, double with_at_least) {
  const Words words(typesetter_, text, {.size = 11.5, .bold = true, .colour = colour::blue}, width());
  space(10);
  if (left_over() < words.height() + 6 + with_at_least) next_page();
  flow(
      {{margin, &words}}, 0, [] {}, [](double, double) {});
  rule(y_ + 2, colour::pale(colour::blue, 0.35), 0.8);
  space(7);
}

void Sheet::small_heading(std::string_view text, double with_at_least) {
  const Words words(typesetter_, text, {.size = 8.5, .bold = true}, width());
  space(6);
  if (left_over() < words.height() + with_at_least) next_page();
  flow(
      {{margin, &words}}, 0, [] {}, [](double, double) {});
  space(2);
}

void Sheet::paragraph(std::string_view text, const Style& style) {
  const Words words(typesetter_, text, style, width());
  flow(
      {{margin, &words}}, 0, [] {}, [](double, double) {});
  space(4);
}

void Sheet::callout(std::string_view text, typeset::Colour of) {
  const Words words(typesetter_, text, {.size = 8.5}, width() - 20);
  space(3);
  flow(
      {{margin + 12, &words}}, 5, [] {},
      [&](double top, double height) {
        fill(margin, top, width(), height, colour::pale(of, 0.09));
        fill(margin, top, 3, height, of);
      });
  space(6);
}

void Sheet::facts(const std::vector<std::pair<std::string, std::string>>& rows, int columns) {
  const auto count = static_cast<std::size_t>(std::max(1, columns));
  const double wide =
      (width() - between_columns * static_cast<double>(count - 1)) / static_cast<double>(count);
  constexpr double name_wide = 78;
  for (std::size_t begin = 0; begin < rows.size(); begin += count) {
    std::vector<std::unique_ptr<Words>> kept;
    std::vector<Piece> pieces;
    for (std::size_t at = begin; at < std::min(rows.size(), begin + count); ++at) {
      const double x = margin + static_cast<double>(at - begin) * (wide + between_columns);
      kept.push_back(std::make_unique<Words>(typesetter_, rows[at].first,
                                             Style{.size = 8, .colour = colour::faint}, name_wide - 6));
      pieces.push_back({x, kept.back().get()});
      kept.push_back(
          std::make_unique<Words>(typesetter_, rows[at].second, Style{.size = 8}, wide - name_wide));
      pieces.push_back({x + name_wide, kept.back().get()});
    }
    flow(
        pieces, 1.6, [] {}, [](double, double) {});
  }
  space(4);
}

void Sheet::table(const Table& table) {
  double shares = 0;
  for (const auto& column : table.columns) shares += column.share;
  constexpr double gutter = 9;
  const double room_for_text = width() - gutter * static_cast<double>(table.columns.size() - 1);
  std::vector<double> x, wide;
  double at = margin;
  for (const auto& column : table.columns) {
    x.push_back(at);
    wide.push_back(room_for_text * column.share / shares);
    at += wide.back() + gutter;
  }
  const auto row_of = [&](std::vector<std::unique_ptr<Words>>& kept, std::size_t column, const Cell& cell,
                          double size) {
    kept.push_back(std::make_unique<Words>(
        typesetter_, cell.text,
        Style{.size = size, .bold = cell.bold, .colour = cell.colour, .align = table.columns[column].align},
        wide[column]));
    return Piece{x[column], kept.back().get()};
  };
  std::vector<std::unique_ptr<Words>> heads;
  std::vector<Piece> head;
  for (std::size_t column = 0; column < table.columns.size(); ++column)
    head.push_back(row_of(heads, column, {table.columns[column].title, true, colour::faint}, 7.2));
  const auto draw_head = [&] {
    flow(
        head, 1.5, [] {}, [](double, double) {});
    rule(y_, colour::faint, 0.6);
    space(1.5);
  };
  if (left_over() < 46) next_page();
  draw_head();
  for (const auto& row : table.rows) {
    std::vector<std::unique_ptr<Words>> kept;
    std::vector<Piece> pieces;
    for (std::size_t column = 0; column < std::min(row.size(), table.columns.size()); ++column)
      pieces.push_back(row_of(kept, column, row[column], 7.8));
    flow(pieces, padding, draw_head, [](double, double) {});
    rule(y_ - 0.2, colour::grid, 0.5);
  }
  space(6);
}

}  // namespace shankwright::papers
