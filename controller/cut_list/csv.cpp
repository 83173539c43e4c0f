#include <initializer_list>

#include "cut_list/length_text.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::cut_list {
namespace {

/// RFC 4180: a cell with a comma, a quote or a line break stands in quotes, quotes inside are doubled. A text
/// that a spreadsheet would take for a formula is led by an apostrophe.
std::string cell(const std::string& text) {
  std::string out;
  bool quoted = false;
  const bool number = text.find_first_not_of("+-0123456789.") == std::string::npos;
  if (!text.empty() && !number && std::string("=+-@").find(text[0]) != std::string::npos) out += '\'';
  for (const char c : text) {
    quoted |= c == ',' || c == '"' || c == '\n' || c == '\r';
    if (c == '"') out += '"';
    out += c;
  }
  return quoted ? "\"" + out + "\"" : out;
}

std::string row(std::initializer_list<std::string> cells) {
  std::string out;
  bool first = true;
  for (const std::string& text : cells) {
    out += (first ? "" : ",") + cell(text);
    first = false;
  }
  return out + "\r\n";
}

std::string cuts(const Document& document, LengthUnit unit) {
  const std::string in(name_of(unit));
  std::string out = row({"mark", "pieces", "rope", "end_a", "end_b", "pin_to_pin_" + in, "tension_kn",
                         "tension_percent", "cut_length_" + in, "uncertainty_" + in});
  for (const planning::AssemblyPlan& planned : document.plan.assemblies) {
    const planning::Assembly& a = planned.assembly;
    out += row({a.mark, std::to_string(a.quantity), a.rope, end_text(a.ends[0]), end_text(a.ends[1]),
                length(a.pin_to_pin_mm, unit), quantity::print(a.tension_kn, "", 3),
                quantity::print(100 * planned.tension_share, "", 1),
                length(planned.account.cut_length_mm, unit), length(planned.account.uncertainty_mm, unit)});
  }
  return out;
}

std::string accounts(const Document& document, LengthUnit unit) {
  const std::string in(name_of(unit));
  std::string out = row({"mark", "line", "end", "value_" + in, "uncertainty_" + in, "total_" + in, "formula",
                         "figures", "why", "source"});
  for (const planning::AssemblyPlan& planned : document.plan.assemblies) {
    for (const planning::Line& line : planned.account.lines) {
      const planning::LineWords& words = planning::words_of(line.kind);
      out += row({planned.assembly.mark, std::string(words.name),
                  line.end < 0 ? "" : (line.end == 0 ? "A" : "B"), length(line.value_mm, unit),
                  length(line.uncertainty_mm, unit), length(line.running_mm, unit),
                  std::string(planning::formula_of(line)), figures(line, unit), std::string(words.why),
                  line.source});
    }
  }
  return out;
}

std::string bill(const Document& document, LengthUnit unit) {
  const std::string in(name_of(unit));
  const planning::Bill& need = document.plan.bill;
  std::string out = row({"kind", "name", "count", "each_" + in, "total_" + in, "remark"});
  for (const planning::RopeNeed& rope : need.ropes) {
    for (const planning::Piece& piece : rope.pieces) {
      out += row({"piece", rope.rope, std::to_string(piece.count), length(piece.length_mm, unit),
                  length(piece.length_mm * piece.count, unit), piece.what_for});
    }
    out += row({"cutting_loss", rope.rope, "", "", length(rope.cutting_loss_mm, unit), ""});
    out += row({"spare", rope.rope, "", "", length(rope.spare_mm, unit), ""});
    out += row({"rope", rope.rope, "", "", length(rope.total_mm, unit),
                rope.mass_kg ? quantity::print(*rope.mass_kg, "kg", 2) : ""});
  }
  for (const planning::TerminalNeed& t : need.terminals) {
    out += row({"terminal", terminal_text(t), std::to_string(t.total), "", "",
                "assemblies " + std::to_string(t.assemblies) + "; samples " + std::to_string(t.samples) +
                    "; spare " + std::to_string(t.spare)});
  }
  for (const planning::OtherEndNeed& other : need.other_ends)
    out += row({std::string(name_of(other.making)), other.what, std::to_string(other.count), "", "", ""});
  for (const planning::RecipeNeed& r : need.recipes) {
    out += row({"recipe", r.recipe + " revision " + std::to_string(r.revision), std::to_string(r.fittings),
                "", "", "on " + r.press});
    out += row({"die_pair", r.die_pair, "1", "", "",
                "tag " + std::to_string(r.die_tag) + "; strokes " + std::to_string(r.strokes)});
    out += row({"gauge", r.go_gauge, "1", "", "", "go"});
    out += row({"gauge", r.no_go_gauge, "1", "", "", "no-go"});
    for (const std::string& gauge : r.measuring_gauges)
      out += row({"gauge", gauge, "1", "", "", "measuring"});
  }
  return out;
}

}  // namespace

std::string csv(const Document& document, Table table, LengthUnit unit) {
  switch (table) {
    case Table::cuts:
      return cuts(document, unit);
    case Table::account:
      return accounts(document, unit);
    case Table::bill:
      return bill(document, unit);
  }
  return "";
}

}  // namespace shankwright::cut_list
