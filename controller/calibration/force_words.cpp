#include "calibration/force.hpp"

namespace shankwright::calibration {

std::string_view name_of(ForceClass of) {
  switch (of) {
    case ForceClass::half:
      return "0.5";
    case ForceClass::one:
      return "1";
    case ForceClass::two:
      return "2";
    case ForceClass::three:
      return "3";
    case ForceClass::none:
      break;
  }
  return "none";
}

std::optional<ForceClass> class_named(std::string_view name) {
  for (const auto of :
       {ForceClass::half, ForceClass::one, ForceClass::two, ForceClass::three, ForceClass::none})
    if (name_of(of) == name) return of;
  return std::nullopt;
}

std::string_view name_of(Shortfall shortfall) {
  switch (shortfall) {
    case Shortfall::no_range:
      return "no_range";
    case Shortfall::no_resolution:
      return "no_resolution";
    case Shortfall::too_few_runs:
      return "too_few_runs";
    case Shortfall::too_few_steps:
      return "too_few_steps";
    case Shortfall::first_step_high:
      return "first_step_high";
    case Shortfall::last_step_low:
      return "last_step_low";
    case Shortfall::forces_not_rising:
      return "forces_not_rising";
    case Shortfall::runs_not_alike:
      return "runs_not_alike";
    case Shortfall::zero_missing:
      return "zero_missing";
    case Shortfall::cell_not_turned:
      return "cell_not_turned";
    case Shortfall::cell_reads_nothing:
      break;
  }
  return "cell_reads_nothing";
}

std::string_view words_of(Shortfall shortfall) {
  switch (shortfall) {
    case Shortfall::no_range:
      return "the greatest force of the range is not known";
    case Shortfall::no_resolution:
      return "the resolution of the press's indication is not known";
    case Shortfall::too_few_runs:
      return "fewer than three runs";
    case Shortfall::too_few_steps:
      return "a run with fewer than five forces";
    case Shortfall::first_step_high:
      return "a run that begins above 20 % of the range";
    case Shortfall::last_step_low:
      return "a run that ends below 100 % of the range";
    case Shortfall::forces_not_rising:
      return "a run whose forces do not rise";
    case Shortfall::runs_not_alike:
      return "runs at different forces";
    case Shortfall::zero_missing:
      return "a run without the indication after the force was taken off";
    case Shortfall::cell_not_turned:
      return "no run with the force cell turned by 30 degrees or more";
    case Shortfall::cell_reads_nothing:
      break;
  }
  return "a force at which the cell reads nothing";
}

}  // namespace shankwright::calibration
