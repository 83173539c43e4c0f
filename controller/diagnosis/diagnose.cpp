#include "diagnosis/diagnose.hpp"

#include <algorithm>
#include <cmath>

#include "diagnosis/words.hpp"

namespace shankwright::diagnosis {
namespace {

constexpr double group_share = 0.1;
constexpr double oddest_touch = 4, oddest_curve = 10;  // deviations; mean square
constexpr double quickens = 1.0;  // logarithm; faces are far stiffer than metal, the valve already throttles

struct Judged {
  double log_likelihood = 0;
  double misfit = 0;
  Expected expected;
};

/// Whether the pressure quickened when the gap read nothing.
double quickening_log_likelihood(const Reading& reading, const Case& one) {
  if (!reading.quickening) return 0;
  const bool gives_on = one.gap_offset_mm < -0.03;
  const double mean = gives_on ? 0.0 : quickens, deviation = gives_on ? 0.25 : 0.4;
  const double z = (std::log(*reading.quickening) - mean) / deviation;
  return -std::log(deviation) - 3 * std::log1p(z * z / 5);  // Student's t: valves differ
}

Judged judge(const Forecast& forecast, const Case& one, const Experience& experience, const TracedBite& bite,
             const Measured& measured) {
  const ModelError& error = experience.of_pass(bite.place.pass);
  Judged out;
  out.expected = expected_of(forecast, one, bite.place, error, bite.reading, measured);
  const Eigen::MatrixXd covariance = out.expected.covariance(error, doubt_left(one, bite.place.pass));
  const Eigen::VectorXd residual = measured.values - out.expected.mean;
  const Eigen::LDLT<Eigen::MatrixXd> factors(covariance);
  const double square = residual.dot(factors.solve(residual));
  out.log_likelihood = -0.5 * (square + factors.vectorD().array().abs().log().sum());
  out.log_likelihood += machine_log_likelihood(bite.reading, experience.press_in(bite.place.pass),
                                               one.pump_share, one.air_travel_mm);
  out.log_likelihood += quickening_log_likelihood(bite.reading, one);
  out.misfit = std::sqrt(square / static_cast<double>(residual.size()));
  return out;
}

}  // namespace

const ModelError& Experience::of_pass(int pass) const {
  return by_pass.at(std::min(static_cast<std::size_t>(std::max(pass, 1)), by_pass.size()) - 1);
}

const PressHabit& Experience::press_in(int pass) const {
  return press.at(std::min(static_cast<std::size_t>(std::max(pass, 1)), press.size()) - 1);
}

Experience no_experience(const recipe::JoinedRecipe& joined) {
  Experience out;
  for (int pass = 1; pass <= std::max(1, joined.recipe.passes); ++pass)
    out.by_pass.push_back(ModelError::before(doubt_of(joined, pass)));
  out.press.resize(out.by_pass.size());
  return out;
}

namespace {

/// Too unlike a good bite to learn from: its first contact says another shank less die, or its curve another
/// section.
bool odd(const Experience& experience, const Forecast& forecast, const TracedBite& bite) {
  const ModelError& error = experience.of_pass(bite.place.pass);
  const Measured measured = measured_of(bite.reading, looked_at_mm(forecast, bite.place.pass));
  const Expected expected =
      expected_of(forecast, forecast.cases.front(), bite.place, error, bite.reading, measured);
  const auto size = measured.values.size() - 2;
  const Eigen::VectorXd off = (measured.values - expected.mean).head(size);
  const Eigen::MatrixXd covariance = expected.covariance(error, 0).topLeftCorner(size, size);
  return std::abs(off[0]) > oddest_touch * std::sqrt(covariance(0, 0)) ||
         off.dot(covariance.ldlt().solve(off)) > oddest_curve * static_cast<double>(size);
}

}  // namespace

void learn(Experience& experience, const Forecast& forecast, const std::vector<TracedBite>& bites) {
  for (const TracedBite& bite : bites)
    if (odd(experience, forecast, bite)) {
      ++experience.left_out;
      return;
    }
  bool learned = false;
  for (std::size_t pass = 1; pass <= experience.by_pass.size(); ++pass) {
    const TracedBite* best = nullptr;
    for (const TracedBite& bite : bites)
      if (bite.place.pass == static_cast<int>(pass) &&
          (!best || bite.place.fresh_mm > best->place.fresh_mm + 0.5))
        best = &bite;
    if (!best || !best->reading.touch_gap_mm) continue;
    ModelError& error = experience.by_pass[pass - 1];
    const auto take = [&](const TracedBite& bite, bool further) {
      const Measured measured = measured_of(bite.reading, looked_at_mm(forecast, static_cast<int>(pass)));
      const Expected expected =
          expected_of(forecast, forecast.cases.front(), bite.place, error, bite.reading, measured);
      // The gap of the closed dies says nothing of the section: the last two stay out.
      const auto size = measured.values.size() - 2;
      const Eigen::MatrixXd effect = expected.by_weight.topRows(size);
      const Eigen::VectorXd residual = (measured.values - expected.mean).head(size) + effect * error.mean;
      const Eigen::MatrixXd noise = expected.scatter(error).topLeftCorner(size, size);
      if (further)
        error.learn_overrun(residual, effect, noise);
      else
        error.learn(residual, effect, noise);
    };
    take(*best, false);
    for (const TracedBite& bite : bites)
      if (bite.place.pass == static_cast<int>(pass) && &bite != best && bite.place.before_mm > 0)
        take(bite, true);
    learned = true;
  }
  for (const TracedBite& bite : bites)
    experience
        .press[std::min(static_cast<std::size_t>(std::max(bite.place.pass, 1)), experience.press.size()) - 1]
        .add(bite.reading);
  if (learned) ++experience.fittings;
}

Diagnosis diagnose(const Forecast& forecast, const Experience& experience, const TracedBite& bite) {
  const Measured measured = measured_of(bite.reading, looked_at_mm(forecast, bite.place.pass));
  std::vector<double> logs;
  std::vector<Judged> judged;
  for (const Case& one : forecast.cases) {
    judged.push_back(judge(forecast, one, experience, bite, measured));
    logs.push_back(judged.back().log_likelihood + std::log(prior_of(one.hypothesis) * one.weight));
  }
  const double most = *std::max_element(logs.begin(), logs.end());
  Diagnosis out;
  PerHypothesis<double> best{};
  PerHypothesis<std::size_t> best_case{};
  double sum = 0;
  for (std::size_t i = 0; i < logs.size(); ++i) {
    const double share = std::exp(logs[i] - most);
    const auto at = static_cast<std::size_t>(forecast.cases[i].hypothesis);
    out.probability.at(at) += share;
    sum += share;
    if (share >= best.at(at)) {
      best.at(at) = share;
      best_case.at(at) = i;
      out.size.at(at) = forecast.cases[i].size;
    }
  }
  for (double& probability : out.probability) probability /= sum;
  for (std::size_t at = 0; at < hypothesis_count; ++at) out.group.push_back(static_cast<Hypothesis>(at));
  const auto probability = [&](Hypothesis one) { return out.probability.at(static_cast<std::size_t>(one)); };
  std::stable_sort(out.group.begin(), out.group.end(),
                   [&](Hypothesis one, Hypothesis other) { return probability(one) > probability(other); });
  out.most_likely = out.group.front();
  std::erase_if(out.group, [&](Hypothesis one) {
    return probability(one) < group_share * probability(out.most_likely);
  });
  // A reading below the true gap moves the whole curve as a thinner shank does; which of the two hangs on how
  // the model's error moves with them, and that nobody knows. Both are named, whatever the figures.
  const bool short_reading = out.most_likely == Hypothesis::frame_or_gap_sensor &&
                             out.size.at(static_cast<std::size_t>(out.most_likely)) < 0;
  if (short_reading &&
      std::find(out.group.begin(), out.group.end(), Hypothesis::undersize_shank) == out.group.end())
    out.group.push_back(Hypothesis::undersize_shank);
  const std::size_t chosen = best_case.at(static_cast<std::size_t>(out.most_likely));
  out.misfit = judged[chosen].misfit;
  out.rests_on_fittings = experience.fittings;
  const Words words = words_for(forecast, experience, bite, measured, judged.front().expected,
                                judged[chosen].expected, forecast.cases[chosen], out);
  out.feature = words.feature;
  out.sentence = words.sentence;
  return out;
}

}  // namespace shankwright::diagnosis
