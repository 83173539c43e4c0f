#include <cmath>
#include <nlohmann/json.hpp>

#include "trial/report_text.hpp"

namespace shankwright::trial {
namespace {

using nlohmann::json;

json band(recipe::Band value) {
  return {{"least", value.least}, {"most", value.most}};
}
/// The text form breaks and indents its lines.
std::string in_one_line(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c != '\n' && c != ' ')
      out += c;
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  }
  return out;
}
json finite(double value) {
  return std::isfinite(value) ? json(value) : json(nullptr);
}

json row_json(const ForceRow& row) {
  json causes = json::object();
  for (std::size_t c = 1; c < cause_count; ++c)
    causes[std::string(key_of(static_cast<Cause>(c)))] = row.causes[c];
  json out = {{"target_kn", row.target_kn},
              {"fittings", row.fittings},
              {"closed", row.closed},
              {"closed_share_limits", band(row.closed_share)},
              {"rejected", row.rejected},
              {"rejected_share_limits", band(row.rejected_share)},
              {"causes", causes}};
  if (row.closed < 2) return out;
  json at = json::array();
  for (std::size_t q = 0; q < told_shares.size(); ++q)
    at.push_back({{"share", told_shares[q]}, {"across_flats_mm", row.across_flats_at_mm[q]}});
  out["across_flats"] = {{"mean_mm", row.across_flats_mm.mean},
                         {"deviation_mm", row.across_flats_mm.deviation},
                         {"quantiles", at},
                         {"last_flats_mean_mm", row.last_flats_mm.mean},
                         {"last_flats_deviation_mm", row.last_flats_mm.deviation},
                         {"earlier_flats_widest", row.earlier_widest}};
  out["cpk"] = {{"estimate", finite(row.cpk)},
                {"limits", {{"least", finite(row.cpk_band.least)}, {"most", finite(row.cpk_band.most)}}},
                {"limits_of_30_pieces",
                 {{"least", finite(row.cpk_of_30.least)}, {"most", finite(row.cpk_of_30.most)}}}};
  out["growth"] = {{"mean", row.growth.mean}, {"deviation", row.growth.deviation}};
  return out;
}

json window_json(const Report& report) {
  const Window& w = report.window;
  json corner = nullptr;
  if (w.corner_kn) {
    corner = {{"target_kn", *w.corner_kn}, {"closes_at_recommended", w.corner_closes}};
    for (std::size_t i = 0; i < prediction::input_count; ++i)
      corner["part"][std::string(key_of(i))] = w.corner.values[i];
  }
  json out = {{"empty", w.empty},
              {"least_kn", w.population_kn},
              {"most_kn", w.upper_kn},
              {"most_is_from", name_of(w.upper_end)},
              {"force_limit_most_kn", w.force_limit_kn_max},
              {"capacity_margin_held", w.margin_held},
              {"recommended_kn", w.empty ? json(nullptr) : json(w.recommended_kn)},
              {"worst_part", corner}};
  if (w.empty) out["why_empty"] = in_one_line(why_empty(report));
  return out;
}

json inputs_json(const Report& report) {
  json out = json::array();
  for (std::size_t i = 0; i < scatter_count; ++i) {
    const auto& scatter = report.scatters[i];
    out.push_back({{"input", key_of(i)},
                   {"unit", unit_of(i) == "%" ? "1" : unit_of(i)},
                   {"shape", scatter.shape == prediction::Scatter::Shape::normal ? "normal" : "uniform"},
                   {"centre", scatter.centre},
                   {"half_width", scatter.half_width},
                   {"share_of_across_flats_variance", report.sensitivity.across_flats[i]},
                   {"share_of_growth_variance", report.sensitivity.growth[i]},
                   {"share_of_closing_force_variance", report.sensitivity.force[i]},
                   {"remedy", remedy_of(i)}});
  }
  return out;
}

}  // namespace

std::string to_json(const Report& report) {
  json out = {{"recipe", report.joined.recipe.id},
              {"revision", report.joined.recipe.revision},
              {"new", !report.has_forces},
              {"seed", report.seed},
              {"fittings", report.fittings},
              {"confidence", confidence},
              {"engaged_mm", report.engaged_mm},
              {"centre_closing_kn", report.centre_closing_kn},
              {"die_opening_mm", report.die_opening_mm},
              {"gauge_uncertainty_mm", report.uncertainty_mm},
              {"across_flats_limits_mm", band(report.joined.recipe.across_flats_mm)},
              {"envelope_judged", report.envelope_judged},
              {"model_error",
               {{"closing_force", report.closing_error},
                {"force", report.model_error.force},
                {"growth", report.model_error.growth},
                {"width_mm", report.model_error.width_mm}}},
              {"window", window_json(report)},
              {"inputs", inputs_json(report)}};
  for (const ForceRow& row : report.rows) out["forces"].push_back(row_json(row));
  out["recommended"] = report.recommended ? row_json(*report.recommended) : json(nullptr);
  out["present"] = report.present ? row_json(*report.present) : json(nullptr);
  out["will_do"] = will_do(report);
  if (const std::string why = why_rejected(report); !why.empty()) out["why_rejected"] = in_one_line(why);
  out["sensitivity"] = {{"at_kn", report.sensitivity.at_kn},
                        {"fittings", report.sensitivity.fittings},
                        {"across_flats_deviation_mm", report.sensitivity.across_flats_deviation_mm},
                        {"growth_deviation", report.sensitivity.growth_deviation},
                        {"closing_force_deviation_kn", report.sensitivity.force_deviation_kn}};
  out["across_flats_histogram"] = {{"first_edge_mm", report.across_flats.first_edge_mm},
                                   {"width_mm", report.across_flats.width_mm},
                                   {"counts", report.across_flats.counts}};
  for (std::size_t p = 0; p < report.fans.size(); ++p) {
    const Fan& fan = report.fans[p];
    out["force_by_gap"].push_back({{"pass", p + 1},
                                   {"gap_mm", fan.gap_mm},
                                   {"force_5_percent_kn", fan.low_kn},
                                   {"force_50_percent_kn", fan.mid_kn},
                                   {"force_95_percent_kn", fan.high_kn}});
  }
  json envelope = json::array();
  for (const auto& pass : report.envelope) {
    json points = json::array();
    for (const auto& at : pass) points.push_back({{"gap_mm", at.gap_mm}, {"force_kn", band(at.force_kn)}});
    envelope.push_back(points);
  }
  out["draft_bands"] = {{"envelope", envelope},
                        {"growth", band(report.growth_band)},
                        {"growth_second_pass_least", report.growth_second_pass_least}};
  std::string words;
  for (const std::string& line : assumptions_of(report)) words += (words.empty() ? "" : " ") + line;
  out["assumptions"] = words;
  out["caution"] = in_one_line(caution);
  return out.dump(2, ' ', false, json::error_handler_t::replace) + "\n";
}

}  // namespace shankwright::trial
