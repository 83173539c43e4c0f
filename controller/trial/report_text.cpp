#include "trial/report_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "trial/window.hpp"

namespace shankwright::trial {
namespace {

std::string grouped(std::size_t value) {
  std::string out = std::to_string(value);
  for (std::ptrdiff_t at = std::ssize(out) - 3; at > 0; at -= 3)
    out.insert(static_cast<std::size_t>(at), " ");
  return out;
}

template <typename... Args>
void add(std::string& out, fmt::format_string<Args...> format, Args&&... args) {
  fmt::format_to(std::back_inserter(out), format, std::forward<Args>(args)...);
}

double percent(std::size_t part, std::size_t whole) {
  return whole == 0 ? 0 : 100 * static_cast<double>(part) / static_cast<double>(whole);
}

std::string main_cause(const ForceRow& row) {
  const auto most = std::max_element(row.causes.begin() + 1, row.causes.end());
  if (*most == 0) return "";
  const auto cause = static_cast<Cause>(std::distance(row.causes.begin(), most));
  return fmt::format("{}", name_of(cause));
}

void add_head(std::string& out, const Report& report) {
  const auto& joined = report.joined;
  add(out, "Trial of {}{}\n{} simulated fittings, the same at every force, seed {}\n", joined.recipe.id,
      report.has_forces ? fmt::format(" revision {}", joined.recipe.revision) : " (new)",
      grouped(report.fittings), report.seed);
  add(out, "{} in {}, dies {}, {}, {} pass{}\n", joined.rope.id, joined.terminal.id, joined.die_pair.id,
      joined.press.id, joined.recipe.passes, joined.recipe.passes == 1 ? "" : "es");
  std::string lengths;
  for (const double length : report.engaged_mm)
    lengths += fmt::format("{}{:.1f}", lengths.empty() ? "" : ", ", length);
  add(out,
      "Most fresh shank in one bite, by pass: {} mm of a {:g} mm die\n"
      "The middle of all tolerances closes at {:.0f} kN\n\n",
      lengths, joined.die_pair.length_mm, report.centre_closing_kn);
}

/// "0.46 (0.37..0.56)", in percent.
std::string share_text(std::size_t part, std::size_t whole, recipe::Band limits) {
  const double share = percent(part, whole);
  const int decimals = share < 10 ? 2 : share < 99.95 ? 1 : 0;
  return fmt::format("{:.{}f} ({:.{}f}..{:.{}f})", share, decimals, 100 * limits.least, decimals,
                     100 * limits.most, decimals);
}

void add_rows(std::string& out, const Report& report) {
  out +=
      "   force closed   across flats, released, mm         Cpk              rejected, %\n"
      "      kN      %   mean    sd     5 %   95 %        (95 % limits)     (95 % limits)  most often\n";
  for (const ForceRow& row : rows_in_order(report)) {
    const bool is_recommended = report.recommended && row.target_kn == report.recommended->target_kn;
    const bool is_present = report.present && row.target_kn == report.present->target_kn;
    const std::string size =
        row.closed < 2
            ? ""
            : fmt::format(
                  "{:7.3f}{:6.3f} {:7.3f}{:7.3f} {:>20}", row.across_flats_mm.mean,
                  row.across_flats_mm.deviation, row.across_flats_at_mm[1], row.across_flats_at_mm[3],
                  fmt::format("{:.2f} ({:.2f}..{:.2f})", row.cpk, row.cpk_band.least, row.cpk_band.most));
    add(out, "{}{}{:6.5g} {:6.2f}{:<48} {:>17}  {}\n", is_recommended ? '>' : ' ', is_present ? '*' : ' ',
        row.target_kn, percent(row.closed, row.fittings), size,
        share_text(row.rejected, row.fittings, row.rejected_share), main_cause(row));
  }
  out += "> recommended";
  if (report.present) out += "; * the recipe's present target";
  add(out,
      ". Sizes are of fittings whose dies closed;\n  limits {:.3f} to {:.3f} mm, gauge uncertainty {:.3f} "
      "mm.\n\n",
      report.joined.recipe.across_flats_mm.least, report.joined.recipe.across_flats_mm.most,
      report.uncertainty_mm);
}

void add_window(std::string& out, const Report& report) {
  const Window& window = report.window;
  out += "Target force\n";
  if (window.empty) {
    out += "  " + why_empty(report) + "\n";
  } else {
    add(out, "  recommended {:7.1f} kN   with a force limit of {:.0f} kN\n", window.recommended_kn,
        std::min(settable_kn(window.recommended_kn * report.limit_ratio), window.force_limit_kn_max));
    add(out,
        "  at least    {:7.1f} kN   99.9 % of the fittings close with seal friction and sensors against "
        "them,\n"
        "                           plus {:.1f} % for the error of the surface\n",
        window.population_kn, 100 * report.closing_error);
    add(out, "  at most     {:7.1f} kN   {}{}\n", window.upper_kn, name_of(window.upper_end),
        window.upper_end == UpperEnd::die_rating
            ? fmt::format(" {:.0f} kN less 8 % for the force limit", report.joined.die_pair.rated_force_kn)
        : window.margin_held ? " less the 15 % margin"
                             : ": the 15 % margin cannot be had");
  }
  if (!window.corner_kn)
    out += "  worst part              could not be computed: the section finds no equilibrium\n";
  if (window.corner_kn) {
    add(out,
        "  worst part  {:7.1f} kN   every tolerance against closing at once and the rope fully gripped: ",
        *window.corner_kn);
    if (window.empty)
      out += "shown for comparison\n";
    else
      out += window.corner_closes
                 ? "would\n                           close too\n"
                 : "would\n                           not close, and the procedure would hold it\n";
  }
  out += "\n";
}

void add_causes(std::string& out, const ForceRow& row, bool has_forces, recipe::Band band) {
  add(out, "Of {} fittings at {:.1f} kN, {} are not accepted at the first judgement\n", grouped(row.fittings),
      row.target_kn, grouped(row.rejected));
  for (std::size_t c = 1; c < cause_count; ++c) {
    if (row.causes[c] == 0) continue;
    add(out, "  {:<28} {:>8}   {:5.2f} %\n", name_of(static_cast<Cause>(c)), grouped(row.causes[c]),
        percent(row.causes[c], row.fittings));
  }
  add(out,
      "  Across flats {:.3f} to {:.3f} mm (0.135 to 99.865 %). Cpk {:.2f}; a first lot of 30 pieces may "
      "show\n"
      "  {:.2f} to {:.2f}. Cpk supposes a bell curve; where the bars below are none, go by the rejects.\n"
      "  Growth {:.1f} % on average, standard deviation {:.1f} points{}.\n",
      row.across_flats_at_mm.front(), row.across_flats_at_mm.back(), row.cpk, row.cpk_of_30.least,
      row.cpk_of_30.most, 100 * row.growth.mean, 100 * row.growth.deviation,
      has_forces ? fmt::format("; the recipe takes {:g} to {:g} %", 100 * band.least, 100 * band.most) : "");
  if (row.earlier_widest > 0)
    add(out,
        "  In {:.0f} % the widest pair is one that the pass before pressed (it bulges under the last pass); "
        "the\n"
        "  last pass's pairs alone are {:.3f} mm on average, standard deviation {:.3f} mm.\n",
        percent(row.earlier_widest, row.closed), row.last_flats_mm.mean, row.last_flats_mm.deviation);
  out += '\n';
}

/// At most `rows` bars: neighbours are put together.
void add_histogram(std::string& out, const Report& report) {
  const Histogram& histogram = report.across_flats;
  if (histogram.counts.empty()) return;
  constexpr std::size_t rows = 14;
  const std::size_t together = (histogram.counts.size() + rows - 1) / rows;
  std::vector<std::size_t> counts((histogram.counts.size() + together - 1) / together, 0);
  for (std::size_t i = 0; i < histogram.counts.size(); ++i) counts[i / together] += histogram.counts[i];
  const std::size_t most = std::max<std::size_t>(1, *std::max_element(counts.begin(), counts.end()));
  const double width_mm = histogram.width_mm * static_cast<double>(together);
  add(out, "Across flats after release at {:.1f} kN, mm\n", report.sensitivity.at_kn);
  for (std::size_t i = 0; i < counts.size(); ++i) {
    const double from_mm = histogram.first_edge_mm + width_mm * static_cast<double>(i);
    add(out, "  {:7.3f} to {:7.3f} {:>7} {}\n", from_mm, from_mm + width_mm, grouped(counts[i]),
        std::string(counts[i] * 60 / most, '#'));
  }
  out += '\n';
}

void add_sensitivity(std::string& out, const Report& report) {
  const Sensitivity& s = report.sensitivity;
  add(out, "What the scatter comes from at {:.1f} kN: share of the variance that goes with one input alone\n",
      s.at_kn);
  add(out, "  {:<20} {:<22} {:>13} {:>9} {:>14}\n", "input", "taken to scatter over", "across flats",
      "growth", "closing force");
  const auto share = [](double value) {
    return value < 0.005 ? std::string("-") : fmt::format("{:.0f} %", 100 * value);
  };
  const auto order = ranked(report, s.across_flats);
  for (const std::size_t i : order)
    add(out, "  {:<20} {:<22} {:>13} {:>9} {:>14}\n", name_of(i), range_text(report, i),
        share(s.across_flats[i]), share(s.growth[i]), share(s.force[i]));
  if (order.empty() || s.fittings < 2) return;
  const auto advice = [&](const char* what, const Shares& shares, double deviation, int decimals,
                          const char* unit) {
    const std::size_t first = ranked(report, shares).front();
    add(out,
        "  {} first: {}: {}\n      ({:.0f} % of the variance; held at its middle, the deviation falls from "
        "{:.{}f} to {:.{}f} {})\n",
        what, name_of(first), remedy_of(first), 100 * shares[first], deviation, decimals,
        deviation * std::sqrt(std::max(0., 1 - shares[first])), decimals, unit);
  };
  out += "Tighten\n";
  advice("for size,", s.across_flats, s.across_flats_deviation_mm, 4, "mm");
  advice("for growth,", s.growth, 100 * s.growth_deviation, 2, "points");
  advice("for force,", s.force, s.force_deviation_kn, 1, "kN");
  out += '\n';
}

}  // namespace

std::string to_text(const Report& report) {
  std::string out;
  add_head(out, report);
  add_rows(out, report);
  add_window(out, report);
  if (report.recommended)
    add_causes(out, *report.recommended, report.has_forces, report.joined.recipe.growth_fraction);
  if (const std::string why = why_rejected(report); !why.empty()) out += why + "\n\n";
  add_histogram(out, report);
  add_sensitivity(out, report);
  out += "Assumed\n";
  for (const std::string& line : assumptions_of(report)) out += "  " + line + "\n";
  out += caution;
  out += '\n';
  return out;
}

}  // namespace shankwright::trial
