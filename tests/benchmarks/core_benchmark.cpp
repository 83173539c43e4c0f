// Steps of the decision core per second, over one whole fitting with refusals among the steps.
#include <benchmark/benchmark.h>

#include "../controller/procedure/bench_recipe.hpp"
#include "procedure/decide.hpp"

namespace {

using namespace shankwright;
using namespace shankwright::procedure;

std::vector<Event> one_fitting_so_far() {
  const Tool tool{true, true, true, 0.004, true};
  PressEvidence press;
  press.fresh = press.emergency_circuit_healthy = press.guard_closed = press.remote_selected =
      press.shank_present = true;
  press.phase = Phase::open;
  press.die_tag = 101;
  PressEvidence open_guard = press;
  open_guard.guard_closed = false;
  return {Admit{true, true, true, true, true, true, true, true, true, true, true, true, true, true, true,
                true, true, true},
          RopeDiameter{{4.8, 5.4}, tool},
          RopeDiameter{{4.8, 4.8}, tool},
          ShankDiameter{9.1, tool},
          BoreDepth{32, tool},
          DepthMark{30, tool},
          DepthMark{32, tool},
          BoundaryMark{32, tool},
          Insertion{3, tool},
          Insertion{0, tool},
          Position{2, tool, press},
          RequestPermit{7, open_guard, true},
          RequestPermit{7, press, true},
          PermitDurable{press},
          BiteStarted{},
          LinkLost{},
          Dispose{Disposition::scrap, true, true, true}};
}

void core_steps(benchmark::State& bench) {
  const recipe::JoinedRecipe joined = tests::bench_recipe();
  const std::vector<Event> events = one_fitting_so_far();
  for (auto _ : bench) {
    State state;
    for (const Event& event : events) state = decide(state, event, joined).state;
    if (state.stage != Stage::scrapped) bench.SkipWithError("the fitting did not come to its end");
    benchmark::DoNotOptimize(state);
  }
  bench.SetItemsProcessed(static_cast<std::int64_t>(bench.iterations()) *
                          static_cast<std::int64_t>(events.size()));
}
BENCHMARK(core_steps);

}  // namespace

BENCHMARK_MAIN();
