#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdio>

#include "simulators/operator/enrolment.hpp"
#include "simulators/operator/fitting_run.hpp"

namespace shankwright::demo {
namespace {

struct Options {
  std::string station = "http://127.0.0.1:8080", bench = "http://127.0.0.1:8081", person;
  std::string pins = "demo-pins.json", code;
  bool enrol_only = false;
  std::size_t fittings = 3;
  std::uint64_t seed = 1;
  std::vector<std::string> recipes;
  bool as_data = false;
};

/// A fitting that somebody left at the press is put aside, so that there is room.
void clear_the_press(StationDesk& station) {
  const Json active = station.now().at("active");
  if (!active.is_object()) return;
  const std::string serial = active.at("serial"), stage = active.at("stage");
  if (stage == "released" || stage == "scrapped" || stage == "hold" || stage == "aside") return;
  const Answer answer = station.act(serial, stage == "accepted" ? "release" : "aside");
  if (!answer.refused.empty())
    throw Stuck(fmt::format("{} is open at the press: {}", serial, answer.refused.front()));
}

/// Frees the press of a fitting that cannot go on; what is at the press then is the next one's to find out.
void give_up(StationDesk& station, const std::string& serial) {
  if (serial.empty()) return;
  try {
    station.act(serial, "aside");
  } catch (const Stuck&) {
    // Already said that it is stuck; the next fitting's start tells whether the press is free.
  }
}

int run(const Options& options) {
  const DemoPins pins = enrol(options.station, options.pins, options.code);
  if (options.enrol_only) {
    fmt::print("{}", pins_text(options.station, pins));
    return 0;
  }
  StationDesk station(options.station);
  BenchHand bench(options.bench);
  bench.tidy_up();
  station.sign_in(options.person, pins);
  const std::vector<Work> choice = work_to_choose_from(station.library(), options.recipes);

  Draw draw(options.seed);
  const std::vector<Mistakes> mistakes = plan_mistakes(options.fittings, draw);
  const std::string job = fmt::format("demo job {}", options.seed);
  clear_the_press(station);
  leave_the_press_ready(station, bench);

  Tally tally;
  PressKnowledge press;
  for (std::size_t i = 0; i < options.fittings; ++i) {
    const std::vector<Work> fitting_ones =
        mistakes[i].count(Mistake::other_rope) != 0 ? where_a_strand_is_wrong(choice) : choice;
    const Work& work = fitting_ones[draw.below(fitting_ones.size())];
    Line line(i + 1, options.fittings, options.as_data);
    FittingRun fitting(station, bench, line, press, mistakes[i]);
    try {
      tally.count(fitting.run(work, job));
    } catch (const Stuck& stuck) {
      tally.count(Ending::unfinished);
      line.end(Ending::unfinished, fmt::format(": {}", stuck.what()), Json());
      give_up(station, fitting.serial());
    } catch (const Unreachable&) {
      line.end(Ending::unfinished, "", Json());
      throw;
    }
    leave_the_press_ready(station, bench);
  }
  if (options.as_data)
    fmt::print("{}\n", Json{{"accepted", tally.accepted},
                            {"re_pressed", tally.re_pressed},
                            {"scrapped", tally.scrapped},
                            {"held", tally.held}}
                           .dump());
  else
    fmt::print("{}\n", tally.closing_line());
  return tally.unfinished == 0 ? 0 : 1;
}

}  // namespace
}  // namespace shankwright::demo

int main(int argc, char** argv) {
  using namespace shankwright::demo;
  Options options;
  CLI::App app(
      "The demo's operator: makes fittings on a simulated press through the station's public HTTP "
      "interface,\n"
      "with mistakes drawn from the seed. Simulation and invented data only. Shankwright is not a safety\n"
      "function: two-hand control, guards, emergency stop and pressure relief belong to the press.",
      "demo-operator");
  app.add_option("--station", options.station, "Where the station answers")->capture_default_str();
  app.add_option("--bench", options.bench, "Where the simulated press's bench answers")
      ->capture_default_str();
  app.add_option("--fittings", options.fittings, "How many to make")
      ->capture_default_str()
      ->check(CLI::Range(1, 100000));
  app.add_option("--seed", options.seed, "Draws recipes and mistakes")->capture_default_str();
  app.add_option("--recipe", options.recipes,
                 "Ids of the recipes to draw from; a few sizes in inches and millimetres, when not given");
  app.add_option("--person", options.person, "Who signs in; the register's first operator, when not given");
  app.add_option("--pins", options.pins,
                 "File of the demo's PINs; whoever has none in it gets one, drawn at random")
      ->capture_default_str();
  app.add_option("--code", options.code,
                 "One-time code for the administrator, as the station printed it at its first start");
  app.add_flag("--enrol-only", options.enrol_only, "Give everybody a PIN, print them, and make nothing");
  app.add_flag("--json", options.as_data, "One JSON object a line: each fitting, then the counts");
  app.footer(
      "The closing line counts: \"accepted\" at the first pressing, \"re-pressed\" those accepted after one "
      "or\n"
      "more further passes, \"scrapped\", and \"held\" for a reviewer, which stay held.\n"
      "Exit 0 when every fitting came to a verdict, 1 when one did not, 2 wrong usage, 3 when the station "
      "or\n"
      "the bench cannot be reached.");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  }
  try {
    return run(options);
  } catch (const Unreachable& unreachable) {
    std::fflush(stdout);
    fmt::print(stderr, "demo-operator: {}\n", unreachable.what());
    return 3;
  } catch (const std::exception& error) {
    std::fflush(stdout);
    fmt::print(stderr, "demo-operator: {}\n", error.what());
    return 1;
  }
}
