#include "diagnosis/place.hpp"

#include <algorithm>
#include <cmath>

#include "procedure/expectation.hpp"

namespace shankwright::diagnosis {

BitePlace place_of(const procedure::State& state, double edge_mm, const recipe::JoinedRecipe& joined) {
  constexpr double edge_deviation_mm = 0.25, growth_deviation_share = 1.0 / 7;
  const double die_mm = joined.die_pair.length_mm;
  BitePlace out;
  out.pass = std::max(1, state.pass);
  out.die_length_mm = die_mm;
  out.fresh_mm = procedure::engaged_length_mm(state, edge_mm, joined);
  if (state.previous_edge_mm)
    out.squeezed_mm = std::clamp(*state.previous_edge_mm + die_mm - edge_mm, 0.0, die_mm);
  // All growth goes towards the mouth. The first bite works a whole die length, those after it about what
  // this one does.
  if (state.previous_edge_mm) out.before_mm = state.bite <= 1 ? die_mm : out.fresh_mm;
  double squares = 0.05 * 0.05;
  if (out.squeezed_mm > 0) squares += edge_deviation_mm * edge_deviation_mm;
  if (out.fresh_mm + out.squeezed_mm < die_mm - 1e-6) {  // the mouth lies under the die
    const double growth = (joined.recipe.growth_fraction.least + joined.recipe.growth_fraction.most) / 2;
    const double before = state.pass > 1 || state.bite > 0 ? growth : 0;
    squares += edge_deviation_mm * edge_deviation_mm +
               std::pow(growth_deviation_share * before * joined.terminal.swage_length_mm, 2);
  }
  out.deviation_mm = std::sqrt(squares);
  return out;
}

}  // namespace shankwright::diagnosis
