#include <fmt/format.h>

#include <algorithm>

#include "cut_list/length_text.hpp"
#include "cut_list/sheet_style.hpp"
#include "quantity/as_written.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::cut_list {
namespace {

using planning::AssemblyPlan;
using quantity::print;

/// Boxes for this many pieces are drawn; a longer run is tallied by hand.
constexpr std::uint32_t boxes_most = 60;

std::string box(std::string_view label) {
  return fmt::format("<span class=\"box\">{}</span>", quantity::as_markup(label));
}

std::string end_facts(const planning::End& end, const planning::Account& account, std::size_t which,
                      LengthUnit unit) {
  std::string out = fmt::format("<p><strong>End {}</strong>: {}", which == 0 ? "A" : "B",
                                quantity::as_markup(end_text(end)));
  out += fmt::format("<br>rope inside: {}", length_with_unit(account.rope_inside_mm[which], unit));
  if (end.making == planning::EndMaking::swaged) {
    out += fmt::format(" after swaging; the shank grows by about {}",
                       length_with_unit(account.growth_mm[which], unit));
  } else {
    out += ", <strong>given by the job</strong>: " + quantity::as_markup(end.source);
  }
  return out + "</p>";
}

std::string piece(const AssemblyPlan& planned, double cutting_tolerance_mm, LengthUnit unit) {
  const planning::Assembly& a = planned.assembly;
  std::string out = "<section class=\"piece\"><div class=\"head\">";
  out += fmt::format("<span class=\"mark\">{}</span><span>{} x {}</span>", quantity::as_markup(a.mark),
                     a.quantity, quantity::as_markup(a.rope));
  out += fmt::format("<span>cut at <span class=\"length\">{}</span> &plusmn; {}</span></div>",
                     length_with_unit(planned.account.cut_length_mm, unit),
                     length_with_unit(cutting_tolerance_mm, unit));
  out += "<div class=\"facts\">" + end_facts(a.ends[0], planned.account, 0, unit) +
         end_facts(a.ends[1], planned.account, 1, unit);
  out += fmt::format("<p>pin to pin {} at {} ({} of the minimum breaking force)</p>",
                     length_with_unit(a.pin_to_pin_mm, unit), print(a.tension_kn, "kN", 2),
                     percent(planned.tension_share, 0));
  out += fmt::format(
      "<p>known to &plusmn; {} (k = 2){}</p></div>", length_with_unit(planned.account.uncertainty_mm, unit),
      a.length_tolerance_mm ? ", asked &plusmn; " + length_with_unit(*a.length_tolerance_mm, unit) : "");
  out += "<div class=\"boxes\">";
  out += box("rope is " + a.rope + ", lot:") + "<span class=\"line\"></span>";
  out += box("ends bound");
  // The first piece is made and measured before the rest is cut: the boxes stand in that order.
  for (std::uint32_t i = 1; i <= std::min(a.quantity, boxes_most); ++i) {
    out += box(fmt::format("{} cut, length measured",
                           a.quantity == 1 ? a.mark : fmt::format("{} of {}", i, a.quantity)));
    if (i == 1)
      out +=
          box(a.quantity == 1 ? "made and measured at tension" : "first piece made and measured at tension");
  }
  if (a.quantity > boxes_most)
    out += fmt::format("<span>and {} more: tally on the back</span>", a.quantity - boxes_most);
  return out + "</div></section>\n";
}

std::string sample_pieces(const planning::Bill& bill, LengthUnit unit) {
  std::string out;
  for (const planning::RopeNeed& need : bill.ropes) {
    for (const planning::Piece& sample : need.pieces) {
      if (!sample.what_for.starts_with("sample of ")) continue;
      out += fmt::format(
          "<section class=\"piece\"><div class=\"head\"><span class=\"mark\">{}</span><span>{} x "
          "{}</span><span>cut at "
          "<span class=\"length\">{}</span></span></div><div class=\"boxes\">",
          quantity::as_markup(sample.what_for), sample.count, quantity::as_markup(need.rope),
          length_with_unit(sample.length_mm, unit));
      for (std::uint32_t i = 1; i <= std::min(sample.count, boxes_most); ++i)
        out += box(fmt::format("{} of {} cut, tagged as sample", i, sample.count));
      out += "<span>to be pulled to destruction: never into service</span></div></section>\n";
    }
  }
  return out;
}

std::string ropes_table(const planning::Bill& bill, LengthUnit unit) {
  std::string out =
      "<table><thead><tr><th></th><th>rope</th><th class=\"n\">pieces</th><th class=\"n\">cutting "
      "loss</th><th "
      "class=\"n\">spare</th><th class=\"n\">in all</th><th class=\"n\">mass</th></tr></thead><tbody>";
  for (const planning::RopeNeed& need : bill.ropes) {
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td "
        "class=\"n\"><strong>{}</strong></td><td class=\"n\">{}</td></tr>",
        box(""), quantity::as_markup(need.rope), reel_length(need.pieces_mm, unit),
        reel_length(need.cutting_loss_mm, unit), reel_length(need.spare_mm, unit),
        reel_length(need.total_mm, unit), need.mass_kg ? print(*need.mass_kg, "kg", 2) : "");
  }
  return out + "</tbody></table>\n";
}

std::string ends_table(const planning::Bill& bill) {
  std::string out =
      "<table><thead><tr><th></th><th>end</th><th class=\"n\">assemblies</th><th class=\"n\">samples</th><th "
      "class=\"n\">spare</th><th class=\"n\">in all</th></tr></thead><tbody>";
  for (const planning::TerminalNeed& need : bill.terminals) {
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td "
        "class=\"n\"><strong>{}</strong></td></tr>",
        box(""), quantity::as_markup(terminal_text(need)), need.assemblies, need.samples, need.spare,
        need.total);
  }
  for (const planning::OtherEndNeed& need : bill.other_ends) {
    out += fmt::format(
        "<tr><td>{}</td><td>{}, {}</td><td class=\"n\">{}</td><td class=\"n\"></td><td class=\"n\"></td><td "
        "class=\"n\"><strong>{}</strong></td></tr>",
        box(""), quantity::as_markup(need.what),
        need.making == planning::EndMaking::hand_fitted ? "hand-fitted" : "made elsewhere", need.count,
        need.count);
  }
  return out + "</tbody></table>\n";
}

std::string recipes_table(const planning::Bill& bill) {
  std::string out =
      "<table><thead><tr><th>recipe</th><th>die pair</th><th>gauges</th><th class=\"n\">fittings</th><th "
      "class=\"n\">bites by pass</th><th class=\"n\">strokes</th></tr></thead><tbody>";
  for (const planning::RecipeNeed& need : bill.recipes) {
    std::string bites;
    for (const std::uint32_t pass : need.bites_by_pass)
      bites += (bites.empty() ? "" : " + ") + std::to_string(pass);
    std::string gauges = need.go_gauge + ", " + need.no_go_gauge;
    for (const std::string& gauge : need.measuring_gauges) gauges += ", " + gauge;
    out += fmt::format(
        "<tr><td>{} revision {}<span class=\"small\">target force {} on {}</span></td><td>{}<span "
        "class=\"small\">tag "
        "{}</span></td><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
        quantity::as_markup(need.recipe), need.revision, print(need.target_force_kn, "kN", 0),
        quantity::as_markup(need.press), quantity::as_markup(need.die_pair), need.die_tag,
        quantity::as_markup(gauges), need.fittings, bites, need.strokes);
  }
  return out + "</tbody></table>\n";
}

std::string account_table(const AssemblyPlan& planned, LengthUnit unit) {
  const planning::Account& account = planned.account;
  std::string out = fmt::format("<h3>{}</h3>\n", quantity::as_markup(planned.assembly.mark));
  out += fmt::format(
      "<table><thead><tr><th>line</th><th>how and why</th><th class=\"n\">{0}</th><th class=\"n\">&plusmn; "
      "(k = "
      "2)</th><th class=\"n\">total {0}</th></tr></thead><tbody>",
      name_of(unit));
  for (const planning::Line& line : account.lines) {
    const planning::LineWords& words = planning::words_of(line.kind);
    out += fmt::format(
        "<tr><td>{}</td><td>{}: {}<span class=\"small\">{}. Source: {}</span></td><td "
        "class=\"n\">{}{}</td><td "
        "class=\"n\">{}</td><td class=\"n\">{}</td></tr>",
        quantity::as_markup(what(line)), quantity::as_markup(planning::formula_of(line)),
        quantity::as_markup(figures(line, unit)), quantity::as_markup(words.why),
        quantity::as_markup(line.source), line.value_mm >= 0 ? "+" : "", length(line.value_mm, unit),
        length(line.uncertainty_mm, unit), length(line.running_mm, unit));
  }
  return out + fmt::format(
                   "<tr class=\"total\"><td>cut length</td><td></td><td></td><td class=\"n\">{}</td><td "
                   "class=\"n\">{}</td></tr></tbody></table>\n",
                   length(account.uncertainty_mm, unit), length(account.cut_length_mm, unit));
}

std::string cautions_box(const Document& document) {
  std::string out = "<div class=\"caution\"><strong>Cautions</strong><ul>";
  for (const std::string& caution : standing_cautions())
    out += "<li>" + quantity::as_markup(caution) + "</li>";
  out += "</ul></div>\n";
  if (document.plan.cautions.empty()) return out;
  out += "<div class=\"caution\"><strong>Look twice</strong><ul>";
  // The same remark on two ends is one remark to the reader of a sheet.
  std::vector<std::string> said;
  for (const auto& caution : document.plan.cautions) {
    const std::string words = caution.found + ". Better: " + caution.expected + ".";
    if (std::find(said.begin(), said.end(), words) != said.end()) continue;
    said.push_back(words);
    out += "<li>" + quantity::as_markup(words) + "</li>";
  }
  return out + "</ul></div>\n";
}

}  // namespace

std::string sheet(const Document& document, LengthUnit unit) {
  const planning::Plan& plan = document.plan;
  std::string out = "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Cut list " +
                    quantity::as_markup(document.job.id) + "</title><style>" + std::string(sheet_style()) +
                    "</style></head><body>\n";
  out += fmt::format("<h1>Cut list: {}</h1><p>{}</p><p class=\"small\">Source: {}</p>\n",
                     quantity::as_markup(document.job.id), quantity::as_markup(document.job.title),
                     quantity::as_markup(document.job.source));
  out += cautions_box(document);
  out += "<h2>To cut</h2>\n";
  for (const AssemblyPlan& planned : plan.assemblies)
    out += piece(planned, document.job.cutting_tolerance_mm, unit);
  out += sample_pieces(plan.bill, unit);
  out +=
      "<div class=\"signatures\"><span>cut by <span class=\"line\"></span></span><span>measured by <span "
      "class=\"line\"></span></span><span>date <span class=\"line\"></span></span></div>\n";
  out += "<h2>Bill of parts</h2>\n" + ropes_table(plan.bill, unit) + ends_table(plan.bill);
  if (!plan.bill.recipes.empty()) out += "<h2>Dies and gauges</h2>\n" + recipes_table(plan.bill);
  out += "<h2>Where each length comes from</h2>\n";
  for (const AssemblyPlan& planned : plan.assemblies) out += account_table(planned, unit);
  return out + "</body></html>\n";
}

}  // namespace shankwright::cut_list
