#include "trial/charts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "trial/report_text.hpp"

namespace shankwright::trial {
namespace {

namespace colour = figures::colour;
using figures::Figure;
using figures::Panel;

std::string recipe_name(const Report& report) {
  return report.has_forces
             ? fmt::format("{} revision {}", report.joined.recipe.id, report.joined.recipe.revision)
             : report.joined.recipe.id + " (new)";
}

Figure sheet(const Report& report, std::string title, std::string subtitle) {
  Figure figure;
  figure.title = std::move(title);
  figure.subtitle = recipe_name(report) + ": " + subtitle;
  figure.description = figure.subtitle;
  figure.notes = {
      fmt::format("Computed by simulation (seed {}, {} fittings), proven on no real part.", report.seed,
                  report.fittings),
      "The terminal and rope makers' instructions, local codes and a competent person come first."};
  return figure;
}

Figure across_flats(const Report& report) {
  const double at_kn = report.sensitivity.at_kn;
  const recipe::Band limits = report.joined.recipe.across_flats_mm;
  Figure figure = sheet(report, "How wide the shanks come out",
                        fmt::format("across flats after release at a target force of {:.0f} kN", at_kn));
  Panel panel;
  const Histogram& histogram = report.across_flats;
  double whole = 0;
  for (const std::size_t count : histogram.counts) whole += static_cast<double>(count);
  figures::Columns columns{
      "simulated fittings whose dies closed", histogram.first_edge_mm, histogram.width_mm, {}, colour::blue};
  double highest = 0;
  for (const std::size_t count : histogram.counts) {
    columns.heights.push_back(whole > 0 ? 100 * static_cast<double>(count) / whole : 0);
    highest = std::max(highest, columns.heights.back());
  }
  const double guard_mm = report.uncertainty_mm;
  panel.zones = {{"within the gauge's uncertainty of a limit: not proven", limits.least - guard_mm,
                  limits.least + guard_mm, colour::pale(colour::amber, 0.35)},
                 {"", limits.most - guard_mm, limits.most + guard_mm, colour::pale(colour::amber, 0.35)}};
  panel.marks = {{limits.least, fmt::format("no-go {:.3f} mm", limits.least), colour::red, false, false},
                 {limits.most, fmt::format("go {:.3f} mm", limits.most), colour::red, false, true}};
  const double last_edge =
      histogram.first_edge_mm + histogram.width_mm * static_cast<double>(histogram.counts.size());
  const double room = 0.12 * (limits.most - limits.least);
  panel.x = {"across flats after release, widest pair, mm",
             std::min(limits.least, histogram.counts.empty() ? limits.least : histogram.first_edge_mm) - room,
             std::max(limits.most, histogram.counts.empty() ? limits.most : last_edge) + room, false};
  panel.y = {fmt::format("share of fittings per {:g} mm, %", histogram.width_mm), 0,
             std::max(1., 1.15 * highest), false};
  panel.columns.push_back(std::move(columns));
  figure.panels.push_back(std::move(panel));
  return figure;
}

/// Closing and rejects of the given rows, in percent.
Panel shares_panel(const std::vector<ForceRow>& rows, bool with_closing) {
  Panel panel;
  figures::Ribbon closed_band{"", {}, {}, {}, colour::pale(colour::blue, 0.25)};
  figures::Ribbon rejected_band{"95 % confidence, exact", {}, {}, {}, colour::pale(colour::red, 0.25)};
  figures::Line closed{"dies close in every pass", {}, colour::blue, 2.2, false, true};
  figures::Line rejected{"not accepted at the first judgement", {}, colour::red, 2.2, false, true};
  for (const ForceRow& row : rows) {
    const auto n = static_cast<double>(row.fittings);
    closed.points.push_back({row.target_kn, 100 * static_cast<double>(row.closed) / n});
    rejected.points.push_back({row.target_kn, 100 * static_cast<double>(row.rejected) / n});
    const auto widen = [&](figures::Ribbon& ribbon, recipe::Band share) {
      ribbon.x.push_back(row.target_kn);
      ribbon.low.push_back(100 * share.least);
      ribbon.high.push_back(100 * share.most);
    };
    widen(closed_band, row.closed_share);
    widen(rejected_band, row.rejected_share);
  }
  if (with_closing) {
    panel.lines.push_back(std::move(closed));
    panel.ribbons.push_back(std::move(closed_band));
  }
  panel.lines.push_back(std::move(rejected));
  panel.ribbons.push_back(std::move(rejected_band));
  return panel;
}

void mark_forces(Panel& panel, const Report& report) {
  const Window& window = report.window;
  const double present_kn = report.present ? report.present->target_kn : 0;
  if (!window.empty) {
    panel.zones.push_back({"window for the target force", window.population_kn, window.upper_kn,
                           colour::pale(colour::green, 0.12)});
    panel.marks.push_back({window.recommended_kn, fmt::format("recommended {:.0f} kN", window.recommended_kn),
                           colour::green, false, window.recommended_kn <= present_kn || present_kn == 0});
  }
  if (present_kn > 0)
    panel.marks.push_back({present_kn, fmt::format("present target {:.0f} kN", present_kn), colour::faint,
                           true, present_kn < window.recommended_kn});
  const bool of_die = report.joined.die_pair.rated_force_kn <= window.force_limit_kn_max;
  panel.marks.push_back(
      {window.force_limit_kn_max,
       fmt::format("{} {:.0f} kN", of_die ? "die rating" : "press limit", window.force_limit_kn_max),
       colour::red, false, true});
}

Figure rejects(const Report& report) {
  Figure figure = sheet(report, "Which press force closes the dies, and what is then rejected",
                        "the same fittings at every target force");
  figure.width = 1160;
  const auto rows = rows_in_order(report);
  const Window& window = report.window;
  const double from = rows.empty() ? 0 : rows.front().target_kn;
  const double to = std::max(rows.empty() ? 1 : rows.back().target_kn, window.force_limit_kn_max);
  const double room = 0.03 * std::max(1., to - from);

  Panel whole = shares_panel(rows, true);
  whole.title = "All of it";
  mark_forces(whole, report);
  whole.x = {"target press force, kN", from - room, to + room, false};
  whole.y = {"share of fittings, %", 0, 103, false};

  // Near the window the share is small and its confidence band can be seen only on a scale of its own.
  Panel near = shares_panel(rows, false);
  near.title = "Rejected, near the window";
  mark_forces(near, report);
  double least_percent = 100;
  for (const ForceRow& row : rows) least_percent = std::min(least_percent, 100 * row.rejected_share.most);
  const double near_from = std::max(from, 0.9 * window.population_kn);
  near.x = {"target press force, kN", near_from - room, to + room, false};
  near.y = {"share of fittings, %", 0, std::clamp(4 * least_percent, 0.2, 103.), false};
  figure.panels = {std::move(whole), std::move(near)};
  return figure;
}

Figure force_by_gap(const Report& report) {
  const double target_kn = report.sensitivity.at_kn;
  Figure figure = sheet(report, "Force while the dies close",
                        "what the pressure reads, for a whole die length of fresh shank");
  figure.width = 1160;
  double highest = target_kn;
  for (const Fan& fan : report.fans)
    for (const double force : fan.high_kn) highest = std::max(highest, force);
  const auto& envelope = report.joined.recipe.envelope;
  for (const auto& pass : envelope)
    for (const auto& at : pass) highest = std::max(highest, at.force_kn.most);
  for (std::size_t p = 0; p < report.fans.size(); ++p) {
    const Fan& fan = report.fans[p];
    Panel panel;
    panel.title = fmt::format("Pass {}", p + 1);
    panel.x = {"gap between the die faces, mm (closing to the right)", 0,
               fan.gap_mm.empty() ? 1 : fan.gap_mm.front(), true};
    panel.y = {"press force, kN", 0, 1.08 * highest, false};
    figures::Line middle{"median", {}, colour::blue, 2.2, false, false};
    for (std::size_t g = 0; g < fan.gap_mm.size(); ++g)
      middle.points.push_back({fan.gap_mm[g], fan.mid_kn[g]});
    panel.ribbons.push_back(
        {"5 to 95 % of fittings", fan.gap_mm, fan.low_kn, fan.high_kn, colour::pale(colour::blue, 0.25)});
    panel.lines.push_back(std::move(middle));
    panel.lines.push_back({fmt::format("target {:.0f} kN", target_kn),
                           {{0, target_kn}, {panel.x.most, target_kn}},
                           colour::green,
                           1.8,
                           true,
                           false});
    if (p < envelope.size()) {
      panel.gates_label = "the recipe's present envelope";
      for (const auto& at : envelope[p])
        panel.gates.push_back({at.gap_mm, at.force_kn.least, at.force_kn.most});
    }
    figure.panels.push_back(std::move(panel));
  }
  return figure;
}

Figure sensitivity(const Report& report) {
  const Sensitivity& s = report.sensitivity;
  Figure figure =
      sheet(report, "Which tolerance to tighten first",
            fmt::format("share of the variance that goes with one input alone, at {:.0f} kN", s.at_kn));
  figure.width = 1160;
  figure.height = 640;
  const auto order = ranked(report, s.across_flats);
  const auto add = [&](const char* title, const Shares& shares, figures::Colour bars) {
    Panel panel;
    panel.title = title;
    panel.x = {"share of variance, %", 0, 118, false};
    panel.bars_colour = bars;
    for (const std::size_t i : order)
      panel.bars.push_back({std::string(name_of(i)), 100 * shares[i],
                            shares[i] < 0.005 ? "under 0.5 %" : fmt::format("{:.0f} %", 100 * shares[i])});
    figure.panels.push_back(std::move(panel));
  };
  add("Across flats", s.across_flats, colour::blue);
  add("Growth", s.growth, colour::green);
  add("Closing force", s.force, colour::amber);
  return figure;
}

}  // namespace

std::vector<std::pair<std::string, Figure>> charts_of(const Report& report) {
  return {{"across_flats", across_flats(report)},
          {"rejects", rejects(report)},
          {"force_by_gap", force_by_gap(report)},
          {"sensitivity", sensitivity(report)}};
}

}  // namespace shankwright::trial
