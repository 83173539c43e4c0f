#include <fmt/format.h>

#include <cmath>
#include <iterator>

#include "figures/canvas.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::figures {
namespace {

std::string hex(Colour colour) {
  const auto byte = [](double share) { return std::lround(share * 255); };
  return fmt::format("#{:02x}{:02x}{:02x}", byte(colour.red), byte(colour.green), byte(colour.blue));
}

std::string fill_of(Colour colour) {
  return colour.opacity < 1 ? fmt::format(R"(fill="{}" fill-opacity="{:.2f}")", hex(colour), colour.opacity)
                            : fmt::format(R"(fill="{}")", hex(colour));
}

/// Text stays text, so that it can be found, read aloud and scaled.
class SvgCanvas : public Canvas {
 public:
  SvgCanvas(double width, double height, std::string_view title, std::string_view description) {
    add(R"(<?xml version="1.0" encoding="UTF-8"?>)"
        "\n"
        R"(<svg xmlns="http://www.w3.org/2000/svg" width="{0:g}" height="{1:g}" viewBox="0 0 {0:g} {1:g}" )"
        R"(font-family="DejaVu Sans, sans-serif" role="img">)"
        "\n<title>{2}</title>\n<desc>{3}</desc>\n",
        width, height, quantity::as_markup(title), quantity::as_markup(description));
  }

  void rectangle(Point corner, double width, double height, Colour fill) override {
    add("<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" {}/>\n", corner.x, corner.y,
        width, height, fill_of(fill));
  }
  void polygon(const std::vector<Point>& points, Colour fill) override {
    add("<polygon points=\"{}\" {}/>\n", listed(points), fill_of(fill));
  }
  void polyline(const std::vector<Point>& points, Colour stroke, double width, bool dashed) override {
    add("<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-opacity=\"{:.2f}\" stroke-width=\"{:g}\" "
        "stroke-linejoin=\"round\"{}/>\n",
        listed(points), hex(stroke), stroke.opacity, width, dashed ? " stroke-dasharray=\"6 4\"" : "");
  }
  void text(Point at, std::string_view words, const TextStyle& style) override {
    const char* const anchor = style.anchor == Anchor::start    ? "start"
                               : style.anchor == Anchor::middle ? "middle"
                                                                : "end";
    add("<text x=\"{:.2f}\" y=\"{:.2f}\" font-size=\"{:g}\" text-anchor=\"{}\" {}{}{}>{}</text>\n", at.x,
        at.y, style.size, anchor, fill_of(style.colour), style.bold ? " font-weight=\"bold\"" : "",
        style.upward ? fmt::format(" transform=\"rotate(-90 {:.2f} {:.2f})\"", at.x, at.y) : "",
        quantity::as_markup(words));
  }
  void clip(Point corner, double width, double height) override {
    ++clips_;
    add("<clipPath id=\"clip{0}\"><rect x=\"{1:.2f}\" y=\"{2:.2f}\" width=\"{3:.2f}\" "
        "height=\"{4:.2f}\"/></clipPath>\n<g clip-path=\"url(#clip{0})\">\n",
        clips_, corner.x, corner.y, width, height);
  }
  void unclip() override { out_ += "</g>\n"; }
  std::string finish() override { return out_ + "</svg>\n"; }

 private:
  template <typename... Args>
  void add(fmt::format_string<Args...> format, Args&&... args) {
    fmt::format_to(std::back_inserter(out_), format, std::forward<Args>(args)...);
  }
  static std::string listed(const std::vector<Point>& points) {
    std::string out;
    for (const Point& point : points)
      fmt::format_to(std::back_inserter(out), "{}{:.2f},{:.2f}", out.empty() ? "" : " ", point.x, point.y);
    return out;
  }

  std::string out_;
  int clips_ = 0;
};

}  // namespace

std::unique_ptr<Canvas> svg_canvas(double width, double height, std::string_view title,
                                   std::string_view description) {
  return std::make_unique<SvgCanvas>(width, height, title, description);
}

}  // namespace shankwright::figures
