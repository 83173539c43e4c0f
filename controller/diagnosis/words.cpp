#include "diagnosis/words.hpp"

#include <fmt/format.h>

#include <cmath>

namespace shankwright::diagnosis {
namespace {

/// Index into forces where the likeliest case and the good one differ most, by their common deviation.
Eigen::Index telling_gap(const Measured& measured, const Expected& good, const Expected& likeliest,
                         const ModelError& error) {
  const Eigen::MatrixXd covariance = good.covariance(error, 0);
  const auto count = static_cast<Eigen::Index>(measured.gaps_mm.size());
  Eigen::Index best = std::max<Eigen::Index>(0, count - 1);
  double most = -1;
  for (Eigen::Index i = 0; i < count; ++i) {
    const double deviation = std::sqrt(covariance(i + 1, i + 1));
    const double off = std::abs(likeliest.mean[i + 1] - good.mean[i + 1]) / deviation;
    // A force that is nearly nothing makes a poor sentence: first contact tells that better.
    if (off > most && good.mean[i + 1] > 0.25 * good.mean[count]) {
      most = off;
      best = i;
    }
  }
  return best;
}

std::string force_words(const TracedBite& bite, const Measured& measured, const Expected& good,
                        Eigen::Index i) {
  if (measured.gaps_mm.empty()) return "the dies stopped before any gap that a good bite passes";
  const double length = bite.place.fresh_mm;
  const double expected = good.mean[i + 1], found = measured.values[i + 1];
  const double share = expected > 0 ? found / expected - 1 : 0;
  const std::string against = length > 0 ? fmt::format("the expected {:.1f} kN/mm", expected / length)
                                         : fmt::format("the expected {:.0f} kN", expected);
  if (std::abs(share) < 0.005)
    return fmt::format("force at {:.2f} mm is {}", measured.gaps_mm[static_cast<std::size_t>(i)], against);
  return fmt::format("force at {:.2f} mm is {:.0f} % {} {}", measured.gaps_mm[static_cast<std::size_t>(i)],
                     100 * std::abs(share), share < 0 ? "below" : "above", against);
}

std::string touch_words(const Measured& measured, const Expected& good, const ModelError& error) {
  const double deviation = std::sqrt(good.covariance(error, 0)(0, 0));
  const double off = measured.values[0] - good.mean[0];
  if (measured.values[0] <= 0)
    return fmt::format("the dies touched nothing (first contact expected at {:.2f} mm)", good.mean[0]);
  if (std::abs(off) < 2 * deviation)
    return fmt::format("first contact at {:.2f} mm is where it should be", measured.values[0]);
  return fmt::format("first contact at {:.2f} mm is {:.2f} mm {} than the expected {:.2f} mm",
                     measured.values[0], std::abs(off), off > 0 ? "sooner" : "later", good.mean[0]);
}

std::string closing_words(const Measured& measured) {
  const double end = measured.values[measured.values.size() - 2];
  const double rise = measured.values[measured.values.size() - 1];
  if (rise > 0.01)
    return fmt::format(
        "the gap reading rises by {:.3f} mm over the last tenth of the force, with the faces met", rise);
  if (rise < -0.01) return fmt::format("the dies stopped at {:.2f} mm while the metal still gave", end);
  return fmt::format("the faces met at a reading of {:.3f} mm", end);
}

std::string machine_words(const Reading& reading, const PressHabit& habit, const Case& chosen) {
  if (reading.stalled)
    return fmt::format("the pressure stood still at {:.0f} bar, below the target", reading.peak_bar);
  if (chosen.air_travel_mm > 0 && reading.lost_travel_mm) {
    if (habit.lost_travel_mm.count > 0)
      return fmt::format(
          "the dies fell {:.2f} mm behind the oil while the pressure first rose; {:.2f} mm are usual on this "
          "press",
          *reading.lost_travel_mm, habit.lost_travel_mm.mean());
    return fmt::format(
        "the dies fell {:.2f} mm behind the oil while the pressure first rose; some 0.3 mm are usual",
        *reading.lost_travel_mm);
  }
  if (reading.squeeze_mm_s && habit.log_squeeze.count > 0)
    return fmt::format("the press squeezed at {:.2f} mm/s; {:.2f} mm/s are usual on this press",
                       *reading.squeeze_mm_s, std::exp(habit.log_squeeze.mean()));
  return "the time the bite took is unusual";
}

std::string listed(const std::vector<Hypothesis>& group) {
  std::string out;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (i > 0) out += i + 1 == group.size() ? ", or " : ", ";
    out += words_of(group[i]);
  }
  return out;
}

}  // namespace

std::string size_text(const Forecast& forecast, Hypothesis hypothesis, double size) {
  switch (hypothesis) {
    case Hypothesis::oversize_shank:
      return fmt::format("about {:.2f} mm beyond its band", size);
    case Hypothesis::undersize_shank:
      return fmt::format("about {:.2f} mm below its band", size);
    case Hypothesis::softer_construction:
    case Hypothesis::harder_construction:
      return fmt::format("about {:.0f} % of the recipe's metal", 100 * size);
    case Hypothesis::wrong_die:
      return fmt::format("about {:.2f} mm across flats", forecast.joined.die_pair.across_flats_mm + size);
    case Hypothesis::dry_dies:
      return fmt::format("friction about {:.2f}", size);
    case Hypothesis::solid_in_die:
      return fmt::format("about {:.0f} % of the die's length", 100 * size);
    case Hypothesis::frame_or_gap_sensor:
      return size != 0 ? fmt::format("an offset of about {:+.2f} mm", size)
                       : "a reading that moves with the force";
    case Hypothesis::good:
    case Hypothesis::no_rope:
    case Hypothesis::weak_pump_or_air:
    case Hypothesis::count_:
      break;
  }
  return "";
}

Words words_for(const Forecast& forecast, const Experience& experience, const TracedBite& bite,
                const Measured& measured, const Expected& good, const Expected& likeliest, const Case& chosen,
                const Diagnosis& diagnosis) {
  const ModelError& error = experience.of_pass(bite.place.pass);
  const std::string force = force_words(bite, measured, good, telling_gap(measured, good, likeliest, error));
  const std::string touch = touch_words(measured, good, error);
  Words out;
  switch (diagnosis.most_likely) {
    case Hypothesis::oversize_shank:
    case Hypothesis::undersize_shank:
    case Hypothesis::wrong_die:
      out.feature = touch + ", and " + force;
      break;
    case Hypothesis::frame_or_gap_sensor:
      out.feature = closing_words(measured) + ", and " + touch;
      break;
    case Hypothesis::weak_pump_or_air:
      out.feature = machine_words(bite.reading, experience.press_in(bite.place.pass), chosen) + "; " + force;
      break;
    case Hypothesis::good:
    case Hypothesis::no_rope:
    case Hypothesis::softer_construction:
    case Hypothesis::harder_construction:
    case Hypothesis::solid_in_die:
    case Hypothesis::dry_dies:
    case Hypothesis::count_:
      out.feature = force + " and " + touch;
      if (!measured.gaps_mm.empty() && measured.values[measured.values.size() - 1] < -0.01)
        out.feature += "; " + closing_words(measured);
      break;
  }
  out.sentence = out.feature + ": " + listed(diagnosis.group);
  const std::string size = size_text(forecast, diagnosis.most_likely,
                                     diagnosis.size.at(static_cast<std::size_t>(diagnosis.most_likely)));
  if (!size.empty() && diagnosis.group.size() == 1) out.sentence += " (" + size + ")";
  if (diagnosis.misfit > 3) out.sentence += ". It fits none of them well: look at the trace itself";
  return out;
}

}  // namespace shankwright::diagnosis
