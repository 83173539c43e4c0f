#include "cut_list/length_text.hpp"

#include "quantity/quantity.hpp"

namespace shankwright::cut_list {

using quantity::print;

std::string_view name_of(LengthUnit unit) {
  return unit == LengthUnit::mm ? "mm" : "in";
}

double in_unit(double value_mm, LengthUnit unit) {
  return unit == LengthUnit::mm ? value_mm : value_mm / 25.4;
}

std::string length(double value_mm, LengthUnit unit) {
  return print(in_unit(value_mm, unit), "", unit == LengthUnit::mm ? 1 : 3);
}

std::string length_with_unit(double value_mm, LengthUnit unit) {
  return length(value_mm, unit) + " " + std::string(name_of(unit));
}

std::string reel_length(double value_mm, LengthUnit unit) {
  return unit == LengthUnit::mm ? print(value_mm / 1000, "m", 2) : print(value_mm / 25.4, "in", 1);
}

std::string percent(double share, int decimals) {
  return print(100 * share, "%", decimals);
}

std::string figure(const planning::Term& term, LengthUnit unit) {
  switch (term.unit) {
    case planning::TermUnit::length_mm:
      return term.name + " " + length_with_unit(term.value, unit);
    case planning::TermUnit::force_kn:
      return term.name + " " + print(term.value, "kN", 3);
    case planning::TermUnit::stress_mpa:
      return term.name + " " + print(term.value / 1000, "GPa", 1);
    case planning::TermUnit::share:
      // Strains are small, shares of growth are not.
      return term.name + " " + percent(term.value, term.value == 0 || term.value >= 0.1 ? 1 : 3);
  }
  return term.name;
}

std::string figures(const planning::Line& line, LengthUnit unit) {
  std::string out;
  for (const planning::Term& term : line.terms) out += (out.empty() ? "" : "; ") + figure(term, unit);
  return out;
}

std::string what(const planning::Line& line) {
  std::string out(planning::words_of(line.kind).what);
  if (line.end >= 0) out += line.end == 0 ? ", end A" : ", end B";
  return out;
}

std::string_view name_of(planning::EndMaking making) {
  switch (making) {
    case planning::EndMaking::swaged:
      return "swaged";
    case planning::EndMaking::hand_fitted:
      return "hand_fitted";
    case planning::EndMaking::made_elsewhere:
      return "made_elsewhere";
  }
  return "";
}

std::string_view name_of(recipe::EndKind end) {
  switch (end) {
    case recipe::EndKind::eye:
      return "eye";
    case recipe::EndKind::fork:
      return "fork";
    case recipe::EndKind::stud:
      return "stud";
    case recipe::EndKind::ball:
      return "ball";
    case recipe::EndKind::stop:
      return "stop";
  }
  return "";
}

std::string terminal_text(const planning::TerminalNeed& need) {
  return need.end ? need.terminal + ", " + std::string(name_of(*need.end)) : need.terminal;
}

std::string end_text(const planning::End& end) {
  if (end.making == planning::EndMaking::swaged) return end.recipe;
  return end.what + (end.making == planning::EndMaking::hand_fitted ? " (hand-fitted)" : " (made elsewhere)");
}

std::string place_text(const Document& document, const std::string& path) {
  const FilePlace place = document.place_of ? document.place_of(path) : FilePlace{};
  if (place.line == 0) return document.file;
  return document.file + ":" + std::to_string(place.line) + ":" + std::to_string(place.column);
}

const std::vector<std::string>& standing_cautions() {
  static const std::vector<std::string> cautions{
      "The terminal and rope makers' instructions, local codes and a competent person come first. "
      "Shankwright is not a "
      "safety function.",
      "Cut by mechanical means only, never with heat; bind the rope before the cut. Wear gloves and eye "
      "protection: cut "
      "rope ends spring.",
      "Mark each terminal's own bore depth on the rope, as measured on that terminal: nothing else shows how "
      "deep the rope "
      "is.",
      "Make and measure one piece first, at the stated tension, before the rest is cut.",
      "No assembly goes into service unproven: gauge every terminal, and proof load as the code in force "
      "asks."};
  return cautions;
}

}  // namespace shankwright::cut_list
