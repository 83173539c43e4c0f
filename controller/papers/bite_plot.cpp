#include "papers/bite_plot.hpp"

#include <algorithm>
#include <cmath>

#include "figures/canvas_cairo.hpp"
#include "figures/chart.hpp"
#include "review/entry_words.hpp"

namespace shankwright::papers {
namespace {

using figures::Panel;
using review::number_at;

constexpr double beyond_range_mm = 65.0;  // 65.535 on the wire: no reading
constexpr double scale = 0.60;            // the chart's own letters are made for a screen
constexpr double height_pt = 172;

struct Plotted {
  std::vector<figures::Point> closing, opening, force, gap;  ///< x, y as the panels show them
  double gap_most = 0, force_most = 0, seconds = 0;
};

/// Force in the paper's unit from the press's pressure; pressure itself where the record knows no ram area.
struct Scale {
  double force_per_bar = 1;
  std::string title = "pressure, bar";
};
Scale scale_of(const review::Evidence& evidence, UnitSystem units) {
  const auto area_mm2 = number_at(evidence.recipe, {"press", "ram_area_mm2"});
  if (!area_mm2 || !(*area_mm2 > 0)) return {};
  // 1 bar is 0.1 N/mm2.
  return {quantity::force_in(*area_mm2 * 0.1 / 1000, units), "force, " + quantity::force_unit(units)};
}

Plotted plotted(const review::BiteEvidence& bite, const Scale& of, UnitSystem units) {
  Plotted out;
  const auto& trace = bite.trace;
  const auto good = [](const ports::Sample& sample) {
    return std::isfinite(sample.gap_mm) && std::isfinite(sample.pressure_bar) &&
           sample.gap_mm < beyond_range_mm;
  };
  std::size_t closed = 0;
  double peak_bar = 0;
  for (std::size_t i = 0; i < trace.size(); ++i) {
    if (!good(trace[i])) continue;
    if (!good(trace[closed]) || trace[i].gap_mm <= trace[closed].gap_mm) closed = i;
    peak_bar = std::max(peak_bar, trace[i].pressure_bar);
  }
  for (std::size_t i = 0; i < trace.size(); ++i) {
    if (!good(trace[i])) continue;
    const double gap = quantity::length_in(trace[i].gap_mm, units);
    const double force = trace[i].pressure_bar * of.force_per_bar;
    const double seconds = (trace[i].time_ms - trace.front().time_ms) / 1000.0;
    (i <= closed ? out.closing : out.opening).push_back({gap, force});
    out.force.push_back({seconds, force});
    out.gap.push_back({seconds, gap});
    out.force_most = std::max(out.force_most, force);
    out.seconds = std::max(out.seconds, seconds);
    // The way without force says little: the picture begins where force first shows.
    if (i <= closed && trace[i].pressure_bar >= peak_bar / 50) out.gap_most = std::max(out.gap_most, gap);
  }
  return out;
}

void add_accepted(Panel& panel, const review::Json& accepted, const Scale& of, UnitSystem units) {
  if (!accepted.is_array() || of.title.starts_with("pressure")) return;
  figures::Ribbon ribbon{"", {}, {}, {}, figures::colour::pale(figures::colour::green, 0.16)};
  for (const auto& point : accepted) {
    const auto gap = number_at(point, {"gap_mm"});
    const auto least = number_at(point, {"force_kn", "least"}), most = number_at(point, {"force_kn", "most"});
    if (!gap || !least || !most) continue;
    const double x = quantity::length_in(*gap, units);
    const double low = quantity::force_in(*least, units), high = quantity::force_in(*most, units);
    panel.gates.push_back({x, low, high});
    ribbon.x.push_back(x);
    ribbon.low.push_back(low);
    ribbon.high.push_back(high);
    panel.x.most = std::max(panel.x.most, x * 1.15);
    panel.y.most = std::max(panel.y.most, high * 1.08);
  }
  panel.gates_label = "accepted force at these gaps";
  panel.gates_colour = figures::colour::green;
  if (ribbon.x.size() > 1) panel.ribbons.push_back(std::move(ribbon));
}

void add_peak_limits(Panel& panel, const review::Evidence& evidence, const Scale& of, UnitSystem units) {
  if (of.title.starts_with("pressure")) return;
  bool named = false;
  for (const auto* end : {"least", "most"}) {
    const auto limit = number_at(evidence.recipe, {"recipe", "peak_force_kn", end});
    if (!limit) continue;
    const double y = quantity::force_in(*limit, units);
    panel.lines.push_back(
        {named ? "" : "limits of the peak", {{0, y}, {panel.x.most, y}}, figures::colour::amber, 1.6, true});
    panel.y.most = std::max(panel.y.most, y * 1.08);
    named = true;
  }
}

Panel over_time(const char* title, const std::string& unit, const std::vector<figures::Point>& points,
                double seconds, double most, figures::Colour colour) {
  Panel panel;
  panel.title = title;
  panel.x = {"time, s", 0, seconds > 0 ? seconds : 1};
  panel.y = {unit, 0, most > 0 ? most : 1};
  panel.lines.push_back({"", points, colour, 1.8});
  return panel;
}

}  // namespace

void bite_plot(Sheet& sheet, const review::Evidence& evidence, const review::BiteEvidence& bite,
               UnitSystem units) {
  if (bite.trace.empty()) return;
  const auto of = scale_of(evidence, units);
  const auto data = plotted(bite, of, units);
  const auto gap_title = "gap, " + quantity::length_unit(units);
  Panel against;
  against.title = "Force against gap";
  against.x = {gap_title + " (closing to the right)", 0, data.gap_most > 0 ? data.gap_most * 1.04 : 1, true};
  against.y = {of.title, 0, data.force_most > 0 ? data.force_most * 1.08 : 1};
  add_accepted(against, review::accepted_force_of(evidence, bite), of, units);
  add_peak_limits(against, evidence, of, units);
  against.lines.push_back({"opening", data.opening, figures::colour::pale(figures::colour::faint, 0.6), 1.2});
  against.lines.push_back({"closing", data.closing, figures::colour::blue, 2.2});
  const auto force = over_time("Force against time", of.title, data.force, data.seconds, against.y.most,
                               figures::colour::blue);
  double gap_most = 0;
  for (const auto& point : data.gap) gap_most = std::max(gap_most, point.y);
  const auto gap = over_time("Gap against time", gap_title, data.gap, data.seconds, gap_most * 1.05,
                             figures::colour::amber);

  const double top = sheet.room(height_pt + 6);
  cairo_t* const onto = sheet.context();
  cairo_save(onto);
  cairo_translate(onto, sheet.left(), top);
  cairo_scale(onto, scale, scale);
  figures::CairoCanvas canvas(onto);
  const double wide = sheet.width() / scale, high = height_pt / scale, half = wide * 0.56;
  figures::draw(canvas, against, {0, 0}, half, high);
  const double side = wide - half - 14;
  figures::draw(canvas, force, {half + 14, 0}, side, high * 0.5);
  figures::draw(canvas, gap, {half + 14, high * 0.5}, side, high * 0.5);
  cairo_restore(onto);
}

}  // namespace shankwright::papers
