#include "figures/chart.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace shankwright::figures {
namespace {

constexpr double margin = 24, tick_size = 12, label_size = 13;

TextStyle style(double size, Colour colour, Anchor anchor = Anchor::start) {
  return {size, colour, anchor, false, false};
}

struct Frame {
  Point corner;
  double width = 0, height = 0;
};

/// Where a value of the panel's axes lies on the canvas.
class Scale {
 public:
  Scale(const Panel& panel, const Frame& frame) : panel_(panel), frame_(frame) {}
  [[nodiscard]] double x(double value) const {
    const double share = part(panel_.x, value);
    return frame_.corner.x + frame_.width * (panel_.x.falling ? 1 - share : share);
  }
  [[nodiscard]] double y(double value) const {
    return frame_.corner.y + frame_.height * (1 - part(panel_.y, value));
  }
  [[nodiscard]] Point at(Point value) const { return {x(value.x), y(value.y)}; }

 private:
  static double part(const Axis& axis, double value) {
    return axis.most > axis.least ? (value - axis.least) / (axis.most - axis.least) : 0;
  }
  const Panel& panel_;
  const Frame& frame_;
};

struct Key {
  std::string label;
  Colour colour;
  bool line = false, dashed = false;
};
std::vector<Key> keys_of(const Panel& panel) {
  std::vector<Key> out;
  for (const auto& columns : panel.columns) out.push_back({columns.label, columns.colour});
  for (const auto& line : panel.lines) out.push_back({line.label, line.colour, true, line.dashed});
  for (const auto& ribbon : panel.ribbons) out.push_back({ribbon.label, ribbon.colour});
  if (!panel.gates.empty()) out.push_back({panel.gates_label, panel.gates_colour, true});
  for (const auto& zone : panel.zones) out.push_back({zone.label, zone.colour});
  std::erase_if(out, [](const Key& key) { return key.label.empty(); });
  return out;
}

/// Draws the legend from `corner` on, or only measures it; gives its height.
double legend(Canvas* canvas, const std::vector<Key>& keys, Point corner, double width) {
  constexpr double swatch = 22, row = 19;
  double x = corner.x, y = corner.y + 13;
  for (const Key& key : keys) {
    const double wide = swatch + 6 + text_width(key.label, tick_size) + 20;
    if (x > corner.x && x + wide - 20 > corner.x + width) {
      x = corner.x;
      y += row;
    }
    if (canvas != nullptr) {
      if (key.line)
        canvas->polyline({{x, y - 4}, {x + swatch, y - 4}}, key.colour, 2.5, key.dashed);
      else
        canvas->rectangle({x, y - 10}, swatch, 11, key.colour);
      canvas->text({x + swatch + 6, y}, key.label, style(tick_size, colour::ink));
    }
    x += wide;
  }
  return keys.empty() ? 0 : y - corner.y + 12;
}

void draw_grid(Canvas& canvas, const Panel& panel, const Frame& frame, const Scale& scale) {
  const double bottom = frame.corner.y + frame.height;
  const double right = frame.corner.x + frame.width;
  const Ticks across = ticks(panel.x.least, panel.x.most, std::max(3, static_cast<int>(frame.width / 80)));
  for (const double value : across.at) {
    const double x = scale.x(value);
    canvas.polyline({{x, frame.corner.y}, {x, bottom}}, colour::grid, 1, false);
    canvas.text({x, bottom + 18}, fmt::format("{:.{}f}", value, across.decimals),
                style(tick_size, colour::ink, Anchor::middle));
  }
  canvas.text({frame.corner.x + frame.width / 2, bottom + 40}, panel.x.title,
              style(label_size, colour::ink, Anchor::middle));
  if (!panel.bars.empty()) return;
  const Ticks upward = ticks(panel.y.least, panel.y.most, std::max(3, static_cast<int>(frame.height / 55)));
  for (const double value : upward.at) {
    const double y = scale.y(value);
    canvas.polyline({{frame.corner.x, y}, {right, y}}, colour::grid, 1, false);
    canvas.text({frame.corner.x - 8, y + 4}, fmt::format("{:.{}f}", value, upward.decimals),
                style(tick_size, colour::ink, Anchor::end));
  }
  TextStyle turned = style(label_size, colour::ink, Anchor::middle);
  turned.upward = true;
  canvas.text({frame.corner.x - 52, frame.corner.y + frame.height / 2}, panel.y.title, turned);
}

void draw_content(Canvas& canvas, const Panel& panel, const Frame& frame, const Scale& scale) {
  canvas.clip({frame.corner.x - 1, frame.corner.y - 1}, frame.width + 2, frame.height + 2);
  for (const Zone& zone : panel.zones) {
    const double from = std::min(scale.x(zone.from), scale.x(zone.to));
    const double to = std::max(scale.x(zone.from), scale.x(zone.to));
    canvas.rectangle({from, frame.corner.y}, to - from, frame.height, zone.colour);
  }
  for (const Ribbon& ribbon : panel.ribbons) {
    std::vector<Point> outline;
    for (std::size_t i = 0; i < ribbon.x.size(); ++i)
      outline.push_back(scale.at({ribbon.x[i], ribbon.high[i]}));
    for (std::size_t i = ribbon.x.size(); i-- > 0;) outline.push_back(scale.at({ribbon.x[i], ribbon.low[i]}));
    canvas.polygon(outline, ribbon.colour);
  }
  for (const Columns& columns : panel.columns) {
    for (std::size_t i = 0; i < columns.heights.size(); ++i) {
      const double left = scale.x(columns.first_edge + columns.width * static_cast<double>(i));
      const double right = scale.x(columns.first_edge + columns.width * static_cast<double>(i + 1));
      const double top = scale.y(columns.heights[i]);
      canvas.rectangle({left + 0.5, top}, right - left - 1, scale.y(0) - top, columns.colour);
    }
  }
  for (const Line& line : panel.lines) {
    std::vector<Point> points;
    for (const Point& point : line.points) points.push_back(scale.at(point));
    canvas.polyline(points, line.colour, line.width, line.dashed);
    if (!line.dots) continue;
    for (const Point& point : points) canvas.rectangle({point.x - 3, point.y - 3}, 6, 6, line.colour);
  }
  for (const Gate& gate : panel.gates) {
    const double x = scale.x(gate.x), low = scale.y(gate.low), high = scale.y(gate.high);
    canvas.polyline({{x, low}, {x, high}}, panel.gates_colour, 2, false);
    for (const double y : {low, high})
      canvas.polyline({{x - 6, y}, {x + 6, y}}, panel.gates_colour, 2.5, false);
  }
  for (const Mark& mark : panel.marks) {
    const double x = scale.x(mark.x);
    canvas.polyline({{x, frame.corner.y}, {x, frame.corner.y + frame.height}}, mark.colour, 2, mark.dashed);
  }
  canvas.unclip();
}

void draw_mark_words(Canvas& canvas, const Panel& panel, const Frame& frame, const Scale& scale) {
  for (const Mark& mark : panel.marks) {
    TextStyle words = style(tick_size, mark.colour, Anchor::end);
    words.upward = true;
    words.bold = true;
    const double x = scale.x(mark.x) + (mark.left ? -5 : 14);
    // A pale ground keeps the words legible over bars and bands.
    const double long_side = text_width(mark.label, tick_size, true) + 6;
    canvas.rectangle({x - 11, frame.corner.y + 3}, 15, long_side, {1, 1, 1, 0.8});
    canvas.text({x, frame.corner.y + 6}, mark.label, words);
  }
}

void draw_bars(Canvas& canvas, const Panel& panel, const Frame& frame, const Scale& scale) {
  const double row = frame.height / static_cast<double>(panel.bars.size());
  for (std::size_t i = 0; i < panel.bars.size(); ++i) {
    const Bar& bar = panel.bars[i];
    const double middle = frame.corner.y + row * (static_cast<double>(i) + 0.5);
    const double end = scale.x(bar.value);
    canvas.rectangle({frame.corner.x, middle - row * 0.32}, end - frame.corner.x, row * 0.64,
                     panel.bars_colour);
    canvas.text({end + 6, middle + 4}, bar.written, style(tick_size, colour::ink));
    canvas.text({frame.corner.x - 8, middle + 4}, bar.label, style(tick_size, colour::ink, Anchor::end));
  }
}

double left_room(const Panel& panel) {
  double widest = 0;
  for (const Bar& bar : panel.bars) widest = std::max(widest, text_width(bar.label, tick_size));
  return panel.bars.empty() ? 66 : widest + 12;
}

void draw_panel(Canvas& canvas, const Panel& panel, const Frame& room) {
  const double left = left_room(panel);
  double top = room.corner.y;
  if (!panel.title.empty()) {
    TextStyle words = style(14, colour::ink);
    words.bold = true;
    canvas.text({room.corner.x, top + 14}, panel.title, words);
    top += 24;
  }
  const double legend_x = room.corner.x + (panel.bars.empty() ? left : 0);
  top += legend(&canvas, keys_of(panel), {legend_x, top}, room.corner.x + room.width - legend_x);
  const Frame frame{
      {room.corner.x + left, top}, room.width - left - 12, room.corner.y + room.height - top - 50};
  const Scale scale(panel, frame);
  draw_grid(canvas, panel, frame, scale);
  draw_content(canvas, panel, frame, scale);
  if (!panel.bars.empty()) draw_bars(canvas, panel, frame, scale);
  canvas.polyline({{frame.corner.x, frame.corner.y},
                   {frame.corner.x, frame.corner.y + frame.height},
                   {frame.corner.x + frame.width, frame.corner.y + frame.height}},
                  colour::faint, 1.2, false);
  draw_mark_words(canvas, panel, frame, scale);
}

void draw(Canvas& canvas, const Figure& figure) {
  canvas.rectangle({0, 0}, figure.width, figure.height, {1, 1, 1});
  TextStyle title = style(18, colour::ink);
  title.bold = true;
  canvas.text({margin, margin + 14}, figure.title, title);
  canvas.text({margin, margin + 36}, figure.subtitle, style(label_size, colour::faint));
  const double top = margin + 52;
  const double notes = 17 * static_cast<double>(figure.notes.size()) + 10;
  const double bottom = figure.height - margin / 2 - notes;
  const auto count = static_cast<double>(std::max<std::size_t>(1, figure.panels.size()));
  constexpr double between = 20;
  const double width = (figure.width - 2 * margin - between * (count - 1)) / count;
  for (std::size_t i = 0; i < figure.panels.size(); ++i) {
    const double x = margin + static_cast<double>(i) * (width + between);
    draw_panel(canvas, figure.panels[i], {{x, top}, width, bottom - top});
  }
  for (std::size_t i = 0; i < figure.notes.size(); ++i)
    canvas.text({margin, bottom + 20 + 17 * static_cast<double>(i)}, figure.notes[i],
                style(11.5, colour::faint));
}

}  // namespace

void draw(Canvas& canvas, const Panel& panel, Point corner, double width, double height) {
  draw_panel(canvas, panel, {corner, width, height});
}

std::string to_svg(const Figure& figure) {
  const auto canvas = svg_canvas(figure.width, figure.height, figure.title, figure.description);
  draw(*canvas, figure);
  return canvas->finish();
}

std::string to_png(const Figure& figure) {
  const auto canvas = png_canvas(figure.width, figure.height, 2);
  draw(*canvas, figure);
  return canvas->finish();
}

}  // namespace shankwright::figures
