#include "pressed_bites.hpp"

#include <algorithm>

#include "procedure/expectation.hpp"

namespace shankwright::tests {
namespace {

constexpr int sample_ms = 2;
constexpr int longest_ms = 40'000;
// The press stays the same from fitting to fitting: its transmitter's drift is one draw.
constexpr std::uint64_t press_seed = 7;

std::vector<ports::Sample> stroke(plant::Plant& plant, plant::Sensors& sensors, plant::Part& part,
                                  const recipe::JoinedRecipe& joined, const Wrong& wrong) {
  std::vector<ports::Sample> trace;
  const double target_bar = joined.recipe.target_force_kn * 1e4 / joined.press.ram_area_mm2;
  double dwell_ms = 0;
  bool opening = false;
  for (int ms = 0; ms <= longest_ms; ms += sample_ms) {
    plant::Command command;
    command.pump_on = true;
    command.valve = opening ? plant::Valve::open : plant::Valve::close;
    command.target_pressure_bar = target_bar;
    const auto& state = plant.step(sample_ms / 1000.0, command, part);
    const auto read = sensors.read(state, wrong.press);
    const double force_mn = read.pressure_bar * joined.press.ram_area_mm2 * 1e-7;
    const double gap = read.gap_mm ? *read.gap_mm + wrong.gap_mm_per_mn * force_mn : 65.535;
    trace.push_back({static_cast<std::uint32_t>(ms), read.pressure_bar, gap});
    if (!opening && read.pressure_bar >= target_bar) dwell_ms += sample_ms;
    if (dwell_ms >= joined.recipe.dwell_ms || ms > longest_ms - 4000) opening = true;
    if (opening && state.home) break;
  }
  return trace;
}

}  // namespace

std::vector<PressedBite> press_fitting(const recipe::JoinedRecipe& joined, const Wrong& wrong,
                                       std::uint64_t seed) {
  plant::Random random(seed);
  plant::Random draws = random.fork(1), hands = random.fork(2), metal = random.fork(3);
  const plant::PartTruth truth = bench::draw_part(joined, wrong.part, draws);
  plant::RopeTruth rope = bench::draw_rope(joined, wrong.part, draws);
  if (wrong.metal_share) rope.metal_area_factor *= *wrong.metal_share;
  plant::Part part(truth, rope);
  if (wrong.part.rope != bench::RopeChoice::none && !part.insert_rope(std::abs(hands.normal(0, 0.08))))
    throw std::logic_error("the rope does not go in");

  plant::DieTruth die;
  die.shape =
      joined.die_pair.shape == recipe::DieShape::hexagon ? plant::DieShape::hexagon : plant::DieShape::round;
  die.across_flats_mm = wrong.across_flats_mm.value_or(joined.die_pair.across_flats_mm) +
                        std::min(0.012, std::abs(hands.normal(0, 0.005)));
  die.length_mm = joined.die_pair.length_mm;

  plant::PressTruth press_truth;
  press_truth.ram_area_mm2 = joined.press.ram_area_mm2;
  press_truth.relief_pressure_bar = joined.press.pressure_max_bar * 1.03;
  press_truth.frame_stretch_mm_per_mn *= wrong.frame_share;
  press_truth.oil_temperature_c = hands.uniform(32, 44);
  plant::Plant plant(press_truth);
  plant.set_faults(wrong.press);
  plant::Sensors sensors(press_seed + (seed << 8U));

  std::vector<PressedBite> out;
  double angle = hands.normal(0, 0.3);
  for (int pass = 1; pass <= joined.recipe.passes; ++pass) {
    const auto plan = procedure::plan_of_pass(pass, joined);
    std::optional<double> previous;
    for (std::size_t i = 0; i < plan.size(); ++i) {
      PressedBite bite;
      bite.pass = pass;
      bite.bite = static_cast<int>(i);
      bite.bites_in_pass = static_cast<int>(plan.size());
      const double edge = plan[i].edge_mm + wrong.edge_off_mm + hands.normal(0, 0.12);
      bite.edge_mm = edge - wrong.edge_off_mm;  // what went wrong, nobody read
      bite.bore_depth_mm = truth.bore_depth_mm + hands.normal(0, 0.03);
      bite.previous_edge_mm = previous;
      previous = bite.edge_mm;
      part.start_bite(die, edge, angle < 0 ? angle + 360 : angle);
      bite.trace = stroke(plant, sensors, part, joined, wrong);
      part.finish_bite(metal);
      out.push_back(std::move(bite));
    }
    angle += 90 + hands.normal(0, 0.6);
  }
  return out;
}

}  // namespace shankwright::tests
