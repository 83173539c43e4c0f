#include <fmt/format.h>

#include <algorithm>

#include "cut_list/length_text.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::cut_list {
namespace {

using planning::AssemblyPlan;
using quantity::print;

constexpr std::size_t width = 100;

/// Columns as wide as what stands in them; the first `left` of them flush left, the others flush right.
class Columns {
 public:
  explicit Columns(std::size_t left) : left_(left) {}
  void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  [[nodiscard]] std::vector<std::string> lines() const {
    std::vector<std::size_t> widths;
    for (const auto& cells : rows_) {
      widths.resize(std::max(widths.size(), cells.size()));
      for (std::size_t i = 0; i < cells.size(); ++i) widths[i] = std::max(widths[i], cells[i].size());
    }
    std::vector<std::string> out;
    for (const auto& cells : rows_) {
      std::string line;
      for (std::size_t i = 0; i < cells.size(); ++i) {
        line += i == 0 ? "  " : "   ";
        line += i < left_ ? fmt::format("{:<{}}", cells[i], widths[i])
                          : fmt::format("{:>{}}", cells[i], widths[i]);
      }
      line.erase(line.find_last_not_of(' ') + 1);
      out.push_back(std::move(line));
    }
    return out;
  }

 private:
  std::size_t left_;
  std::vector<std::vector<std::string>> rows_;
};

/// Words broken into lines no wider than the page, each begun with `indent`.
std::string wrapped(const std::string& words, const std::string& indent) {
  std::string out;
  std::string line = indent;
  std::size_t at = 0;
  while (at < words.size()) {
    const std::size_t end = std::min(words.find(' ', at), words.size());
    const std::string word = words.substr(at, end - at);
    if (line.size() > indent.size() && line.size() + 1 + word.size() > width) {
      out += line + "\n";
      line = indent;
    }
    line += (line.size() > indent.size() ? " " : "") + word;
    at = end + 1;
  }
  return out + line + "\n";
}

std::string cut_table(const Document& document, LengthUnit unit) {
  Columns table(2);
  const std::string in_what = std::string(name_of(unit));
  table.row({"mark", "rope", "pieces", "pin to pin " + in_what, "at tension", "cut length " + in_what,
             "+/- (k=2)"});
  for (const AssemblyPlan& planned : document.plan.assemblies) {
    const planning::Assembly& a = planned.assembly;
    table.row({a.mark, a.rope, std::to_string(a.quantity), length(a.pin_to_pin_mm, unit),
               print(a.tension_kn, "kN", 2) + ", " + percent(planned.tension_share, 0),
               length(planned.account.cut_length_mm, unit), length(planned.account.uncertainty_mm, unit)});
  }
  const auto rows = table.lines();
  std::string out = "Cut list\n" + rows.front() + "\n";
  for (std::size_t i = 0; i < document.plan.assemblies.size(); ++i) {
    const auto& ends = document.plan.assemblies[i].assembly.ends;
    out += rows[i + 1] + "\n";
    out += "      end A: " + end_text(ends[0]) + "\n      end B: " + end_text(ends[1]) + "\n";
  }
  return out;
}

std::string account(const AssemblyPlan& planned, LengthUnit unit) {
  const planning::Account& account = planned.account;
  Columns table(1);
  const std::string in_what = std::string(name_of(unit));
  table.row({"line", in_what, "+/- (k=2)", "total"});
  for (const planning::Line& line : account.lines) {
    const std::string sign = line.value_mm >= 0 ? "+" : "";
    table.row({what(line), sign + length(line.value_mm, unit), length(line.uncertainty_mm, unit),
               length(line.running_mm, unit)});
  }
  table.row({"CUT LENGTH", "", length(account.uncertainty_mm, unit), length(account.cut_length_mm, unit)});
  const auto rows = table.lines();
  std::string out =
      fmt::format("Account of {}, {} to cut\n", planned.assembly.mark, planned.assembly.quantity);
  out += rows.front() + "\n";
  for (std::size_t i = 0; i < account.lines.size(); ++i) {
    const planning::Line& line = account.lines[i];
    const planning::LineWords& words = planning::words_of(line.kind);
    out += rows[i + 1] + "\n";
    out += wrapped(fmt::format("= {} ({})", planning::formula_of(line), figures(line, unit)), "      ");
    out += wrapped(fmt::format("{}. Source: {}", words.why, line.source), "      ");
  }
  out += rows.back() + "\n";
  out += wrapped(fmt::format("free rope {} under tension, {} at rest; rope inside the ends {} and {}",
                             length_with_unit(account.free_rope_under_tension_mm, unit),
                             length_with_unit(account.free_rope_at_rest_mm, unit),
                             length_with_unit(account.rope_inside_mm[0], unit),
                             length_with_unit(account.rope_inside_mm[1], unit)),
                 "      ");
  return out;
}

std::string ropes_text(const planning::Bill& bill, LengthUnit unit) {
  std::string out;
  for (const planning::RopeNeed& need : bill.ropes) {
    out += fmt::format("  {}: {}", need.rope, reel_length(need.total_mm, unit));
    if (need.mass_kg) out += fmt::format(", {}", print(*need.mass_kg, "kg", 2));
    out += fmt::format(" (pieces {}, cutting loss {}, spare {})\n", reel_length(need.pieces_mm, unit),
                       reel_length(need.cutting_loss_mm, unit), reel_length(need.spare_mm, unit));
    for (const planning::Piece& piece : need.pieces) {
      out += fmt::format("      {} x {}  {}\n", piece.count, length_with_unit(piece.length_mm, unit),
                         piece.what_for);
    }
  }
  return out;
}

std::string bill_text(const planning::Bill& bill, LengthUnit unit) {
  std::string out = "Bill of parts\n" + ropes_text(bill, unit);
  for (const planning::TerminalNeed& need : bill.terminals) {
    out += fmt::format("  {}: {} (assemblies {}, samples {}, spare {})\n", terminal_text(need), need.total,
                       need.assemblies, need.samples, need.spare);
  }
  for (const planning::OtherEndNeed& need : bill.other_ends) {
    out += fmt::format("  {}: {} ({})\n", need.what, need.count,
                       need.making == planning::EndMaking::hand_fitted ? "hand-fitted" : "made elsewhere");
  }
  for (const planning::RecipeNeed& need : bill.recipes) {
    std::string bites;
    for (const std::uint32_t pass : need.bites_by_pass)
      bites += (bites.empty() ? "" : " + ") + std::to_string(pass);
    std::string gauges = need.go_gauge + ", " + need.no_go_gauge;
    for (const std::string& gauge : need.measuring_gauges) gauges += ", " + gauge;
    out += wrapped(
        fmt::format("{} revision {}, {} fittings: die pair {} (tag {}), {} strokes (bites by pass {}), "
                    "target force {} on {}; gauges {}",
                    need.recipe, need.revision, need.fittings, need.die_pair, need.die_tag, need.strokes,
                    bites, print(need.target_force_kn, "kN", 0), need.press, gauges),
        "  ");
  }
  return out;
}

template <typename Findings>
std::string finding_lines(const Document& document, const Findings& findings, const char* called) {
  std::string out;
  for (const auto& finding : findings) {
    out += fmt::format("{}: {}{}: found {}, expected {}\n", place_text(document, finding.path), called,
                       planning::name_of(finding.code), finding.found, finding.expected);
  }
  return out;
}

}  // namespace

std::string text(const Document& document, LengthUnit unit) {
  std::string out;
  if (!document.faults.empty()) {
    for (const Problem& fault : document.faults) out += fault.text() + "\n";
    return out + "Nothing is planned: the job file has faults.\n";
  }
  if (!document.plan.refusals.empty()) {
    out = finding_lines(document, document.plan.refusals, "");
    return out + "Nothing is to be cut: the job is refused.\n";
  }
  out = fmt::format("{}\n{}\nSource: {}\n\n", document.job.id, document.job.title, document.job.source);
  out += cut_table(document, unit) + "\n";
  for (const AssemblyPlan& planned : document.plan.assemblies) out += account(planned, unit) + "\n";
  out += bill_text(document.plan.bill, unit) + "\n";
  if (!document.plan.cautions.empty())
    out += "Look twice\n" + finding_lines(document, document.plan.cautions, "") + "\n";
  out += "Cautions\n";
  for (const std::string& caution : standing_cautions()) out += wrapped(caution, "  ");
  return out;
}

}  // namespace shankwright::cut_list
