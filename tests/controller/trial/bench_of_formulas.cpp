#include "bench_of_formulas.hpp"

#include <stdexcept>

#include "trial/draft.hpp"

namespace shankwright::trial::tests {

using prediction::Input;
using prediction::PassCurve;

recipe::JoinedRecipe a_recipe() {
  static const library::Library shipped = library::load(SOURCE_DIR "/recipes");
  auto joined = library::join(shipped, "straight-shank-3-16-7x19");
  if (!joined) throw std::runtime_error(joined.problem().text());
  recipe::JoinedRecipe out = joined.value();
  out.recipe.growth_fraction = {0.10, 0.30};
  return out;
}

Predictor predictor(Formulas formulas) {
  return [formulas](const prediction::Part& part, const std::vector<double>&) {
    const double closing = formulas.closing_n_per_mm * part[Input::strength] * (0.9 + part[Input::friction]);
    std::vector<PassCurve> out;
    for (const int pass : {1, 2}) {
      PassCurve curve;
      curve.touch_gap_mm = 1;
      for (int i = 0; i <= 20; ++i) {
        curve.force_n_per_mm.push_back(closing * (pass == 1 ? 1 : 0.9) * i / 20.0);
        const double grown = pass == 1 ? 0.15 * i / 20.0 : 0.15 + 0.05 * i / 20.0;
        curve.growth_loaded.push_back(grown + (part[Input::shank_diameter] - 9.1186) * 0.2);
      }
      curve.base_recoil_mm = curve.side_recoil_mm = formulas.recoil_mm;
      curve.earlier_flats_mm = pass == 1 ? 0 : part[Input::across_flats] + formulas.recoil_mm - 0.02;
      out.push_back(curve);
    }
    return out;
  };
}

Request a_request(Formulas formulas) {
  Request request;
  const recipe::JoinedRecipe joined = a_recipe();
  request.bench = bench_of(joined, predictor(formulas), prediction::population_of(joined));
  request.model_error = {0.01, 0.001, 0.002};
  request.corner = corner_part(request.bench);
  request.envelope_gaps_mm = envelope_gaps_mm(request.bench);
  request.fittings = 3000;
  request.seed = 20310501;
  return request;
}

}  // namespace shankwright::trial::tests
