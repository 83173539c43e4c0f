#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "trial/report_text.hpp"

namespace shankwright::trial {

std::vector<ForceRow> rows_in_order(const Report& report) {
  std::vector<ForceRow> out = report.rows;
  for (const auto& extra : {report.recommended, report.present}) {
    if (!extra) continue;
    const bool there = std::any_of(out.begin(), out.end(), [&](const ForceRow& row) {
      return std::abs(row.target_kn - extra->target_kn) < 1e-9;
    });
    if (!there) out.push_back(*extra);
  }
  std::sort(out.begin(), out.end(),
            [](const ForceRow& a, const ForceRow& b) { return a.target_kn < b.target_kn; });
  return out;
}

std::vector<std::size_t> ranked(const Report& report, const Shares& shares) {
  std::vector<std::size_t> out;
  for (std::size_t s = 0; s < scatter_count; ++s)
    if (report.scatters[s].half_width > 0) out.push_back(s);
  std::stable_sort(out.begin(), out.end(),
                   [&](std::size_t a, std::size_t b) { return shares[a] > shares[b]; });
  return out;
}

std::string range_text(const Report& report, std::size_t scatter) {
  const auto& s = report.scatters[scatter];
  const std::string_view unit = unit_of(scatter);
  const double factor = unit == "%" ? 100 : 1;
  const int decimals = unit == "mm" ? 3 : unit == "%" ? 1 : 2;
  return fmt::format("{:.{}f} to {:.{}f}{}{}", factor * (s.centre - s.half_width), decimals,
                     factor * (s.centre + s.half_width), decimals, unit == "1" ? "" : " ",
                     unit == "1" ? "" : unit);
}

std::string why_empty(const Report& report) {
  const Window& window = report.window;
  return fmt::format(
      "No force will do: closing 99.9 % of the fittings takes {:.0f} kN, and the {} allows a\n"
      "  target of {:.0f} kN at most{}.\n"
      "  A stronger die pair or press, a shorter die, or closer tolerances are needed.",
      window.population_kn, name_of(window.upper_end), window.upper_kn,
      window.upper_end == UpperEnd::die_rating ? " (8 % below it, for the force limit)"
                                               : ", even without the 15 % margin");
}

bool will_do(const Report& report) {
  return report.recommended && static_cast<double>(report.recommended->rejected) <=
                                   rejected_share_most * static_cast<double>(report.recommended->fittings);
}

std::string why_rejected(const Report& report) {
  if (!report.recommended || will_do(report)) return "";
  const ForceRow& row = *report.recommended;
  const recipe::Recipe& recipe = report.joined.recipe;
  std::string out =
      fmt::format("More than {:.0f} % are rejected although the dies close: force is not what is wrong.\n",
                  100 * rejected_share_most);
  const auto most = std::max_element(row.causes.begin() + 1, row.causes.end());
  const auto cause = static_cast<Cause>(std::distance(row.causes.begin(), most));
  const double middle_mm = (recipe.across_flats_mm.least + recipe.across_flats_mm.most) / 2;
  const double off_mm = row.across_flats_at_mm[2] - middle_mm;
  switch (cause) {
    case Cause::over_size:
    case Cause::under_size:
    case Cause::size_in_doubt:
      out += fmt::format(
          "The median comes out {:.3f} mm {} the middle of the limits: a die pair {:.2f} mm {}\n"
          "would move it there, if nothing else changed.",
          std::abs(off_mm), off_mm > 0 ? "above" : "below", std::abs(off_mm),
          off_mm > 0 ? "narrower" : "wider");
      break;
    case Cause::growth_low:
    case Cause::growth_high:
      out += fmt::format(
          "Growth comes out {:.1f} to {:.1f} %, the recipe takes {:g} to {:g} %: the band is to be\n"
          "proven on real parts. A draft carries the band found here.",
          100 * report.growth_band.least, 100 * report.growth_band.most, 100 * recipe.growth_fraction.least,
          100 * recipe.growth_fraction.most);
      break;
    case Cause::outside_envelope:
      out +=
          "The recipe's present envelope does not hold what was found. A draft carries an envelope of its "
          "own.";
      break;
    case Cause::none:
    case Cause::force_limit:
    case Cause::first_not_closed:
    case Cause::later_not_closed:
      out += "See the causes above.";
      break;
  }
  return out;
}

std::vector<std::string> assumptions_of(const Report& report) {
  const prediction::SurfaceError& error = report.model_error;
  return {
      "Section model of one bite through a second-order surface, which repeats runs it was not fitted",
      fmt::format(
          "to within {:.1f} % of closing force ({:.0f} % in the steepest rise), {:.2f} points of growth and",
          100 * report.closing_error, 100 * error.force, 100 * error.growth),
      fmt::format("{:.3f} mm of the flats the last pass pressed. The section model's own errors:",
                  error.width_mm),
      "controller/mechanics/README.md. Scatter: the table above; what no drawing says is assumed and has",
      "no source (--scatter puts what the shop has measured in its place).",
      fmt::format(
          "Dies open by {:.3f} mm at closing (thick ring, outer diameter three times across flats). The",
          report.die_opening_mm),
      "gap is sensed at the dies, so stretch of the frame does not count. No creep during the dwell. The",
      "bite with most fresh shank decides each pass. Go and no-go gauges are taken as exact.",
      "Straightness, slip, surface and proof load are not simulated.",
  };
}

}  // namespace shankwright::trial
