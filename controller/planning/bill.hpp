#pragma once
#include <optional>
#include <string>
#include <vector>

#include "planning/account.hpp"

/// What the job takes: ropes, terminals, dies, gauges. Lengths mm.
namespace shankwright::planning {

struct Piece {
  std::string what_for;  ///< an assembly's mark, or "sample of RECIPE"
  double length_mm = 0;
  std::uint32_t count = 0;
};

struct RopeNeed {
  std::string rope;
  std::vector<Piece> pieces;
  double pieces_mm = 0;
  double cutting_loss_mm = 0;  ///< one loss for each piece
  double spare_mm = 0;         ///< share of pieces and loss
  double total_mm = 0;
  std::optional<double> mass_kg;  ///< of the total, where the rope has a mass factor
};

struct TerminalNeed {
  std::string terminal;
  std::optional<recipe::EndKind> end;  ///< where the terminal's file says
  std::uint32_t assemblies = 0, samples = 0, spare = 0, total = 0;
};

/// An end that the press does not make.
struct OtherEndNeed {
  std::string what;
  EndMaking making = EndMaking::hand_fitted;
  std::uint32_t count = 0;
};

struct RecipeNeed {
  std::string recipe;
  std::uint32_t revision = 0;
  std::string terminal, die_pair, press, go_gauge, no_go_gauge;
  std::uint16_t die_tag = 0;
  std::vector<std::string> measuring_gauges;
  double target_force_kn = 0;
  std::uint32_t fittings = 0;
  std::vector<std::uint32_t> bites_by_pass;
  std::uint32_t strokes = 0;  ///< of the die pair, for all fittings, repeats not counted
};

struct Bill {
  std::vector<RopeNeed> ropes;
  std::vector<TerminalNeed> terminals;
  std::vector<OtherEndNeed> other_ends;
  std::vector<RecipeNeed> recipes;
};

/// `cut_lengths_mm` by assembly, in the job's order.
[[nodiscard]] Bill bill_of(const Job& job, const std::vector<double>& cut_lengths_mm,
                           const std::map<std::string, recipe::Rope>& ropes, const Recipes& recipes);

}  // namespace shankwright::planning
