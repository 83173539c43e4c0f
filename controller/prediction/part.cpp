#include "prediction/part.hpp"

#include <algorithm>

namespace shankwright::prediction {

Part Population::centre() const {
  Part part;
  for (std::size_t i = 0; i < input_count; ++i) part.values[i] = inputs[i].centre;
  return part;
}

Filling filling_of(const recipe::JoinedRecipe& joined) {
  return {Filling::Kind::rope, joined.rope.metallic_area_factor};
}

Population population_of(const recipe::JoinedRecipe& joined) {
  const auto over = [](const recipe::Band& band) {
    return Scatter{Scatter::Shape::normal, (band.least + band.most) / 2, (band.most - band.least) / 2};
  };
  const double bore_mm = joined.terminal.bore_diameter_mm;
  const double across_mm = joined.die_pair.across_flats_mm;
  constexpr double wear_mm = 0.02;
  Population out;
  out[Input::shank_diameter] = over(joined.terminal.shank_diameter_mm);
  out[Input::bore] = {Scatter::Shape::normal, bore_mm, 0.005 * bore_mm};
  out[Input::rope_diameter] = over(joined.rope.diameter_mm);
  out[Input::strength] = {Scatter::Shape::normal, 1, 0.08};
  out[Input::friction] = {Scatter::Shape::uniform, 0.10, 0.04};
  out[Input::grip] = {Scatter::Shape::uniform, 0.11, 0.11};
  out[Input::across_flats] = {Scatter::Shape::uniform, across_mm + wear_mm / 2, wear_mm / 2};
  return out;
}

mechanics::SqueezeInput squeeze_input(const recipe::JoinedRecipe& joined, const Filling& filling,
                                      const Part& part) {
  mechanics::SqueezeInput input;
  mechanics::SectionInput& section = input.section;
  section.shank_diameter_mm = part[Input::shank_diameter];
  section.bore_mm = filling.kind == Filling::Kind::solid ? 0 : part[Input::bore];
  if (filling.kind == Filling::Kind::rope) {
    // A rope thicker than the bore cannot be in it: the tightest that can is taken.
    section.rope =
        mechanics::RopeCore{filling.metal_area_factor, std::min(part[Input::rope_diameter], section.bore_mm),
                            std::clamp(part[Input::grip], 0., 1.)};
  }
  section.flow.strength_mpa *= part[Input::strength];
  section.flow.yield_mpa *= part[Input::strength];
  section.friction = std::clamp(part[Input::friction], 0., 0.5);
  input.die.shape = joined.die_pair.shape == recipe::DieShape::round ? mechanics::DieShape::round
                                                                     : mechanics::DieShape::hexagon;
  input.die.across_flats_mm = part[Input::across_flats];
  input.passes = joined.recipe.passes;
  return input;
}

}  // namespace shankwright::prediction
