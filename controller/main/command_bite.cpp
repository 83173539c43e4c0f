#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "main/commands.hpp"
#include "mechanics/squeeze.hpp"
#include "quantity/as_written.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::command {
namespace {

using nlohmann::json;

struct Options {
  std::string shank_diameter, bore, rope = "none", rope_diameter, die = "hexagon", across_flats;
  std::string flow_strength = "1275 MPa", yield = "240 MPa", stop_gap = "0 mm", axial_force = "0 N";
  std::vector<std::string> gaps;
  double friction = 0.10, hardening = 0.45, grip = 0, metal_area_factor = 0;
  int passes = 2;
  bool fine = false, as_data = false;
};

/// The value, or wrong usage (exit 2) that names the option.
template <typename T>
T taken(const std::string& option, const Result<T>& result) {
  if (!result.ok()) throw CLI::ValidationError(option, result.problem().text());
  return result.value();
}

/// C in metal area = C d^2. 7x7 and 7x19: factors of EN 12385-4 as a rope supplier quotes them; 1x19: fill
/// factor 0.76 of EN 1993-1-11, value from memory.
double metal_area_factor(const std::string& construction) {
  if (construction == "1x19") return 0.597;
  if (construction == "7x7") return 0.432;
  if (construction == "7x19") return 0.418;
  throw CLI::ValidationError("--rope", fmt::format("found \"{}\", expected 1x19, 7x7, 7x19 or none",
                                                   quantity::as_written(construction)));
}

mechanics::SqueezeInput input_of(const Options& options) {
  mechanics::SqueezeInput input;
  mechanics::SectionInput& section = input.section;
  const auto length = [](const char* option, const std::string& text) {
    return taken(option, quantity::parse_length_mm(text));
  };
  section.shank_diameter_mm = length("--shank-od", options.shank_diameter);
  section.bore_mm = length("--bore", options.bore);
  if (options.rope != "none") {
    if (options.rope_diameter.empty())
      throw CLI::ValidationError("--rope-diameter",
                                 "found nothing, expected the diameter of the rope, for example 4.76mm");
    const double factor =
        options.metal_area_factor > 0 ? options.metal_area_factor : metal_area_factor(options.rope);
    section.rope =
        mechanics::RopeCore{factor, length("--rope-diameter", options.rope_diameter), options.grip};
  }
  section.flow.strength_mpa = taken("--flow-k", quantity::parse_stress_mpa(options.flow_strength));
  section.flow.yield_mpa = taken("--yield", quantity::parse_stress_mpa(options.yield));
  section.flow.hardening = options.hardening;
  section.friction = options.friction;
  section.axial_force_n = taken("--axial-force", quantity::parse_force_kn(options.axial_force)) * 1000;
  if (options.die != "hexagon" && options.die != "round")
    throw CLI::ValidationError(
        "--die", fmt::format("found \"{}\", expected hexagon or round", quantity::as_written(options.die)));
  input.die.shape = options.die == "round" ? mechanics::DieShape::round : mechanics::DieShape::hexagon;
  input.die.across_flats_mm = length("--across-flats", options.across_flats);
  input.passes = options.passes;
  input.least_gap_mm = length("--stop-gap", options.stop_gap);
  input.fineness = options.fine ? mechanics::Fineness::fine : mechanics::Fineness::standard;
  return input;
}

json as_json(const mechanics::SqueezeCourse& course) {
  const auto gap_or_null = [](const std::optional<double>& gap) { return gap ? json(*gap) : json(nullptr); };
  json out = {{"points", json::array()}, {"after", json::array()}};
  for (const mechanics::SqueezePoint& point : course.points)
    out["points"].push_back({{"pass", point.pass},
                             {"gap_mm", point.gap_mm},
                             {"force_n_per_mm", point.force_n_per_mm},
                             {"growth", point.growth},
                             {"outer_area_mm2", point.outer_area_mm2},
                             {"bore_area_mm2", point.bore_area_mm2},
                             {"die_pressure_mpa", point.die_pressure_mpa},
                             {"rope_pressure_mpa", point.rope_pressure_mpa},
                             {"rope_packing", point.rope_packing}});
  for (const mechanics::PassResult& pass : course.after)
    out["after"].push_back({{"pass", pass.pass},
                            {"growth", pass.growth},
                            {"across_flats_mm", pass.across_flats_mm},
                            {"base_width_mm", pass.base_width_mm},
                            {"side_width_mm", pass.side_width_mm},
                            {"earlier_flats_mm", pass.pass > 1 ? json(pass.earlier_flats_mm) : json(nullptr)},
                            {"spring_back_mm", pass.spring_back_mm},
                            {"closing_force_n_per_mm", pass.closing_force_n_per_mm},
                            {"touch_gap_mm", pass.touch_gap_mm},
                            {"base_touch_gap_mm", gap_or_null(pass.base_gap_mm)},
                            {"rope_touch_gap_mm", gap_or_null(pass.rope_gap_mm)},
                            {"lock_up_gap_mm", gap_or_null(pass.lock_up_gap_mm)},
                            {"flash_mm", pass.flash_mm},
                            {"rope_packing", pass.rope_packing}});
  return out;
}

void print_text(const mechanics::SqueezeInput& input, const mechanics::SqueezeCourse& course) {
  const bool roped = input.section.rope.has_value();
  const bool hollow = input.section.bore_mm > 0;
  for (const mechanics::PassResult& pass : course.after) {
    std::cout << fmt::format("Pass {}{}: first touch at a gap of {:.3f} mm", pass.pass,
                             pass.pass > 1 ? ", a quarter turn on" : "", pass.touch_gap_mm);
    if (pass.base_gap_mm) std::cout << fmt::format("; all faces touch at {:.2f} mm", *pass.base_gap_mm);
    if (roped && pass.pass == 1)
      std::cout << (pass.rope_gap_mm ? fmt::format("; bore meets rope at {:.2f} mm", *pass.rope_gap_mm)
                                     : "; the bore never meets the rope");
    if (roped && pass.lock_up_gap_mm && *pass.lock_up_gap_mm < pass.touch_gap_mm - 0.05)
      std::cout << fmt::format("; rope locked up at {:.2f} mm", *pass.lock_up_gap_mm);
    std::cout << fmt::format("\n{:>10}{:>14}{:>11}{:>12}{:>11}{:>12}{:>12}{:>9}\n", "gap mm", "force N/mm",
                             "growth %", "outer mm2", hollow ? "bore mm2" : "", "die MPa",
                             roped ? "rope MPa" : "", roped ? "void %" : "");
    for (const mechanics::SqueezePoint& point : course.points) {
      if (point.pass != pass.pass) continue;
      std::cout << fmt::format("{:>10.3f}{:>14.0f}{:>11.2f}{:>12.2f}", point.gap_mm, point.force_n_per_mm,
                               100 * point.growth, point.outer_area_mm2)
                << (hollow ? fmt::format("{:>11.2f}", point.bore_area_mm2) : fmt::format("{:>11}", ""))
                << fmt::format("{:>12.0f}", point.die_pressure_mpa);
      if (roped)
        std::cout << fmt::format("{:>12.0f}{:>9.1f}", point.rope_pressure_mpa,
                                 100 * (1 - point.rope_packing));
      std::cout << '\n';
    }
    std::cout << fmt::format("After release: across flats {:.3f} mm (spring-back {:.3f} mm), growth {:.2f} %",
                             pass.across_flats_mm, pass.spring_back_mm, 100 * pass.growth);
    if (pass.pass > 1)
      std::cout << fmt::format(", flats of the pass before {:.3f} mm", pass.earlier_flats_mm);
    std::cout << '\n';
    if (pass.flash_mm > 0.02)
      std::cout << fmt::format(
          "Metal is pressed out at the parting line, {:.2f} mm on each side: too much for these dies\n",
          pass.flash_mm);
    std::cout << '\n';
  }
  std::cout << "Force is for one mm of shank in the die: times the length in the die for a whole bite. "
               "Computed, proven on no\n"
               "part: dies and frame are taken as rigid. The makers' instructions and a competent person "
               "come first.\n";
}

int bite(const Options& options) {
  const mechanics::SqueezeInput input = input_of(options);
  std::vector<double> gaps;
  for (const std::string& gap : options.gaps) gaps.push_back(taken("--gaps", quantity::parse_length_mm(gap)));
  if (auto fault = mechanics::fault_of(input)) throw CLI::ValidationError("bite", fault->text());
  if (gaps.empty()) {
    const double touch = mechanics::first_touch_gap_mm(input.die, input.section.shank_diameter_mm);
    for (int i = 0; i <= 8; ++i) gaps.push_back(std::max(input.least_gap_mm, touch * (1 - i / 8.)));
  }
  const auto course = mechanics::squeeze(input, gaps);
  if (!course.ok()) {
    std::cerr << "shankwright: " << course.problem().text() << '\n';
    return course.problem().place == "gap" ? 2 : 1;
  }
  if (options.as_data)
    std::cout << as_json(course.value()).dump(2) << '\n';
  else
    print_text(input, course.value());
  if (!std::cout.flush()) {
    std::cerr << "shankwright: the output could not be written whole\n";
    return 3;
  }
  return 0;
}

}  // namespace

void add_bite(CLI::App& app, int& exit_code) {
  CLI::App* const command = app.add_subcommand("bite", "The physics of one bite from bare dimensions");
  command->footer(
      "Every length, force and stress carries its unit: 9.12mm, 0.359in, 1275MPa. Example:\n"
      "  shankwright bite --shank-od 9.12mm --bore 5.16mm --rope 7x19 --rope-diameter 4.76mm --across-flats "
      "7.95mm \\\n"
      "    --gaps 0.5mm,0.25mm,0mm\n"
      "A solved section of shank (finite elements, a second or so), not a safety function and no design of "
      "tooling: the\n"
      "terminal, rope and press makers' instructions and a competent person come first.\n"
      "Exit 0 with a prediction, 1 when the section finds no equilibrium, 2 wrong usage.");
  const auto options = std::make_shared<Options>();
  command->add_option("--shank-od", options->shank_diameter, "Shank diameter before swaging")->required();
  command->add_option("--bore", options->bore, "Bore diameter; 0mm for solid material")->required();
  command->add_option("--rope", options->rope, "1x19, 7x7, 7x19, or none for an empty shank")
      ->capture_default_str();
  command->add_option("--rope-diameter", options->rope_diameter, "Diameter of the rope");
  command
      ->add_option("--metal-area-factor", options->metal_area_factor,
                   "C in metal area = C d2, in place of the construction's own")
      ->check(CLI::Range(0.2, 0.785));
  command->add_option("--die", options->die, "hexagon or round")->capture_default_str();
  command
      ->add_option("--across-flats", options->across_flats,
                   "Across flats of the closed dies; a round groove's diameter")
      ->required();
  command->add_option("--friction", options->friction, "Coulomb friction, die on shank")
      ->capture_default_str();
  command->add_option("--flow-k", options->flow_strength, "K of the shank's flow stress K (e0 + e)^n")
      ->capture_default_str();
  command->add_option("--flow-n", options->hardening, "n of it")->capture_default_str();
  command->add_option("--yield", options->yield, "Yield stress of the shank")->capture_default_str();
  command
      ->add_option(
          "--grip", options->grip,
          "0: the rope slides along the bore; 1: gripped from the first contact. Real parts lie between")
      ->capture_default_str();
  command->add_option("--axial-force", options->axial_force, "Force that resists growth")
      ->capture_default_str();
  command->add_option("--passes", options->passes, "Passes, a quarter turn between")->capture_default_str();
  command->add_option("--gaps", options->gaps, "Gaps to report, with commas between; 0mm is faces met")
      ->delimiter(',');
  command->add_option("--stop-gap", options->stop_gap, "Gap at which every pass stops")
      ->capture_default_str();
  command->add_flag("--fine", options->fine, "A finer mesh, about four times slower");
  command->add_flag("--json", options->as_data, "Print JSON: gaps and lengths in mm, growth a fraction");
  command->callback([options, &exit_code] { exit_code = bite(*options); });
}

}  // namespace shankwright::command
