#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "quantity/result.hpp"
#include "workshop/force_session.hpp"

/// Bodies of requests of the workshop's routes. Problems name the place as a JSON pointer.
namespace shankwright::hmi {

/// {"cell","range":"600 kN","resolution":"0.5 kN","class_needed":"1","steps":5,"preloaded":true}
[[nodiscard]] Result<workshop::ForceBegin> read_force_begin(std::string_view body);
/// {"cell_angle":"0 deg"} and perhaps "ram_position":"20 mm"
[[nodiscard]] Result<workshop::RunBegin> read_run_begin(std::string_view body);
/// {"run":1,"step":1,"cell":"120.3 kN"} and perhaps "indicated":"120 kN"; step 0 has no "cell".
[[nodiscard]] Result<workshop::ReadingTaken> read_force_reading(std::string_view body);

/// {"due":"YYYY-MM-DD" or null} and perhaps "pin"
struct ForceFinish {
  std::optional<std::int64_t> due_day;
  std::optional<std::string> pin;
};
[[nodiscard]] Result<ForceFinish> read_force_finish(std::string_view body);

/// {"reason"}, not blank, and where `with_pin` perhaps "pin"
struct Reasoned {
  std::string reason;
  std::optional<std::string> pin;
};
[[nodiscard]] Result<Reasoned> read_reasoned(std::string_view body, bool with_pin);

/// {"recipe":"<id>" or "<id>.r<revision>"} and perhaps "fittings" (1000 to 50000) and "seed"
struct TrialAsked {
  std::string recipe;
  std::size_t fittings = 20000;
  std::uint64_t seed = 1;
};
[[nodiscard]] Result<TrialAsked> read_trial(std::string_view body);

/// {"trial":<number of the trial>}
[[nodiscard]] Result<std::uint64_t> read_trial_number(std::string_view body);

}  // namespace shankwright::hmi
