#include <cairo.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <set>
#include <string>
#include <vector>

#include "figures/chart.hpp"

using namespace shankwright::figures;

namespace {

Figure a_figure() {
  Figure figure;
  figure.title = "Force & <gap>";
  figure.subtitle = "demo data";
  figure.description = "a figure for a test";
  figure.notes = {"a note below"};
  Panel panel;
  panel.title = "Pass 1";
  panel.x = {"gap between the die faces, mm", 0, 2, true};
  panel.y = {"press force, kN", 0, 300, false};
  panel.ribbons = {{"5 to 95 %", {0, 1, 2}, {150, 80, 0}, {250, 120, 10}, colour::pale(colour::blue, 0.3)}};
  panel.lines = {{"median", {{0, 200}, {1, 100}, {2, 5}}, colour::blue, 2, false, true}};
  panel.marks = {{0.5, "a mark", colour::red, true, false}};
  panel.zones = {{"a zone", 0.2, 0.4, colour::pale(colour::green, 0.2)}};
  panel.gates_label = "envelope";
  panel.gates = {{0.3, 100, 200}};
  figure.panels.push_back(panel);
  Panel bars;
  bars.title = "Shares";
  bars.x = {"share of variance, %", 0, 118, false};
  bars.bars = {{"rope grip", 88, "88 %"}, {"bore", 12, "12 %"}};
  figure.panels.push_back(bars);
  return figure;
}

/// The picture as cairo decodes it: 0xRRGGBB by row.
struct Picture {
  int width = 0, height = 0;
  std::vector<std::vector<std::uint32_t>> rows;
};
Picture decoded(const std::string& bytes) {
  std::pair<const std::string*, std::size_t> from{&bytes, 0};
  cairo_surface_t* const surface = cairo_image_surface_create_from_png_stream(
      [](void* reader, unsigned char* into, unsigned int count) {
        auto& [text, at] = *static_cast<std::pair<const std::string*, std::size_t>*>(reader);
        if (at + count > text->size()) return CAIRO_STATUS_READ_ERROR;
        std::memcpy(into, text->data() + at, count);
        at += count;
        return CAIRO_STATUS_SUCCESS;
      },
      &from);
  Picture out;
  if (cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS) {
    out.width = cairo_image_surface_get_width(surface);
    out.height = cairo_image_surface_get_height(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    const unsigned char* const data = cairo_image_surface_get_data(surface);
    for (int y = 0; y < out.height; ++y) {
      std::vector<std::uint32_t> row(static_cast<std::size_t>(out.width));
      std::memcpy(row.data(), data + static_cast<std::ptrdiff_t>(y) * stride, row.size() * 4);
      for (auto& pixel : row) pixel &= 0xFFFFFF;
      out.rows.push_back(std::move(row));
    }
  }
  cairo_surface_destroy(surface);
  return out;
}

/// Every element opened is closed in turn, and nothing stands raw that XML keeps for itself. Empty when so.
std::string fault_of_xml(const std::string& text) {
  std::vector<std::string> open;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] == '&' && text.substr(at, 5) != "&amp;" && text.substr(at, 4) != "&lt;" &&
        text.substr(at, 4) != "&gt;" && text.substr(at, 6) != "&quot;")
      return "a raw & at " + std::to_string(at);
    if (text[at] == '>') return "a raw > at " + std::to_string(at);
    if (text[at] != '<') continue;
    const std::size_t end = text.find('>', at);
    if (end == std::string::npos) return "an element that never ends";
    const std::string inside = text.substr(at + 1, end - at - 1);
    if (inside.find('<') != std::string::npos) return "a raw < in " + inside;
    if (inside.front() == '/') {
      if (open.empty() || open.back() != inside.substr(1)) return "closed out of turn: " + inside;
      open.pop_back();
    } else if (inside.front() != '?' && inside.back() != '/') {
      open.push_back(inside.substr(0, inside.find(' ')));
    }
    at = end;
  }
  return open.empty() ? "" : "left open: " + open.back();
}

}  // namespace

TEST_CASE("A chart decodes as a picture of its size in which something is drawn") {
  const Figure figure = a_figure();
  const Picture picture = decoded(to_png(figure));
  REQUIRE(picture.width == 2 * static_cast<int>(figure.width));
  REQUIRE(picture.height == 2 * static_cast<int>(figure.height));
  std::set<std::uint32_t> colours;
  std::size_t drawn = 0;
  for (const auto& row : picture.rows)
    for (const std::uint32_t pixel : row) {
      colours.insert(pixel);
      drawn += pixel == 0xFFFFFF ? 0 : 1;
    }
  CHECK(colours.size() > 20);
  const auto all = static_cast<std::size_t>(picture.width) * static_cast<std::size_t>(picture.height);
  CHECK(drawn > all / 100);
  CHECK(drawn < all / 2);
}

TEST_CASE("A chart's SVG is well formed and keeps its words as text") {
  const std::string svg = to_svg(a_figure());
  CHECK(fault_of_xml(svg) == "");
  for (const char* words :
       {"gap between the die faces, mm", "press force, kN", "share of variance, %", "5 to 95 %", "median",
        "a mark", "a zone", "envelope", "rope grip", "88 %", "a note below", "Force &amp; &lt;gap&gt;"})
    CHECK_THAT(svg, Catch::Contains(std::string(">") + words + "</"));
  CHECK_THAT(svg, Catch::Contains("<desc>a figure for a test</desc>"));
}

TEST_CASE("The check of SVG finds what is not well formed") {
  CHECK(fault_of_xml("<a><b/></a>") == "");
  CHECK(fault_of_xml("<a><b></a></b>") != "");
  CHECK(fault_of_xml("<a>x & y</a>") != "");
  CHECK(fault_of_xml("<a>") != "");
}

TEST_CASE("A falling axis has its greatest value at the left") {
  Figure figure = a_figure();
  figure.panels.resize(1);
  Panel& panel = figure.panels.front();
  panel = {};
  panel.x = {"x", 0, 10, false};
  panel.y = {"y", 0, 1, false};
  panel.marks = {{1, "near the least", colour::red, false, false}};
  const auto column_of_the_mark = [&] {
    const Picture picture = decoded(to_png(figure));
    // The mark is the only red from top to bottom.
    const auto& row = picture.rows[static_cast<std::size_t>(picture.height) * 3 / 4];
    for (std::size_t x = 0; x < row.size(); ++x) {
      const std::uint32_t red = row[x] >> 16, green = (row[x] >> 8) & 0xFF, blue = row[x] & 0xFF;
      if (red > 150 && green < 80 && blue < 80) return static_cast<double>(x) / picture.width;
    }
    return -1.;
  };
  const double rising = column_of_the_mark();
  panel.x.falling = true;
  const double falling = column_of_the_mark();
  CHECK(rising > 0);
  CHECK(rising < 0.3);
  CHECK(falling > 0.7);
}

TEST_CASE("Ticks are round numbers inside the axis") {
  const Ticks of_force = ticks(0, 287, 6);
  CHECK(of_force.at == std::vector<double>{0, 50, 100, 150, 200, 250});
  CHECK(of_force.decimals == 0);
  const Ticks of_size = ticks(7.747, 7.95, 5);
  REQUIRE(of_size.at.size() == 5);
  CHECK(of_size.at.front() == Approx(7.75));
  CHECK(of_size.decimals == 2);
  CHECK(ticks(1, 1, 5).at.empty());
  CHECK(ticks(-1, 1, 4).at[2] == 0);
  CHECK_FALSE(std::signbit(ticks(-1, 1, 4).at[2]));
}

TEST_CASE("Longer words are wider, and bold ones wider still") {
  CHECK(text_width("press force", 12) > text_width("press", 12));
  CHECK(text_width("press", 24) == Approx(2 * text_width("press", 12)).epsilon(0.1));
  CHECK(text_width("press", 12, true) > text_width("press", 12));
  CHECK(text_width("", 12) == 0);
}
