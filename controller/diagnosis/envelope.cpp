#include "diagnosis/envelope.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <random>

namespace shankwright::diagnosis {
namespace {

using prediction::Scatter;

/// Uniform in (0, 1), the same on every standard library.
double share(std::mt19937_64& dice) {
  return (static_cast<double>(dice() >> 11U) + 0.5) * 0x1.0p-53;
}

double normal(std::mt19937_64& dice) {
  static const boost::math::normal standard;
  return boost::math::quantile(standard, share(dice));
}

double drawn(const Scatter& scatter, std::mt19937_64& dice) {
  if (scatter.half_width <= 0) return scatter.centre;
  if (scatter.shape == Scatter::Shape::uniform)
    return scatter.centre + scatter.half_width * (2 * share(dice) - 1);
  double off = normal(dice) / 3;
  while (std::abs(off) > 1) off = normal(dice) / 3;
  return scatter.centre + scatter.half_width * off;
}

double quantile(std::vector<double>& values, double at) {
  const auto place = static_cast<std::size_t>(std::lround(at * static_cast<double>(values.size() - 1)));
  const auto found = values.begin() + static_cast<std::ptrdiff_t>(place);
  std::nth_element(values.begin(), found, values.end());
  return *found;
}

double deviation(const std::vector<double>& values) {
  double sum = 0, squares = 0;
  for (const double value : values) {
    sum += value;
    squares += value * value;
  }
  const auto count = static_cast<double>(values.size());
  return std::sqrt(std::max(0.0, squares / count - sum / count * (sum / count)));
}

std::vector<double> usual_gaps_mm(const Forecast& forecast, int pass) {
  const auto& curve =
      forecast.centre.at(std::min(static_cast<std::size_t>(pass), forecast.centre.size()) - 1);
  const double half = 0.4 * curve.touch_gap_mm;
  std::vector<double> out;
  for (const double part : {1.0, 0.6, 0.3})
    out.push_back(std::max(0.06, std::round(half * part / 0.01) * 0.01));
  return out;
}

}  // namespace

Envelope envelope_of(const Forecast& forecast, const Experience& experience, const EnvelopeSetting& setting) {
  Envelope out;
  out.fittings = experience.fittings;
  std::mt19937_64 dice(setting.seed);
  const double kn_noise = 0.2 * forecast.joined.press.ram_area_mm2 * 1e-4;
  const double die_mm = forecast.joined.die_pair.length_mm;
  const auto passes = static_cast<int>(forecast.centre.size());
  std::vector<std::vector<double>> gaps;
  for (int pass = 1; pass <= passes; ++pass) {
    const auto index = static_cast<std::size_t>(pass) - 1;
    gaps.push_back(index < setting.gaps_mm.size() && !setting.gaps_mm[index].empty()
                       ? setting.gaps_mm[index]
                       : usual_gaps_mm(forecast, pass));
  }

  std::vector<std::vector<prediction::PassCurve>> drawn_curves;
  const auto& population = forecast.surface->setting().population;
  for (int i = 0; i < setting.parts; ++i) {
    prediction::Part part;
    for (std::size_t input = 0; input < prediction::input_count; ++input)
      part.values[input] = drawn(population.inputs[input], dice);
    drawn_curves.push_back(forecast.surface->predict(part));
  }

  for (int pass = 1; pass <= passes; ++pass) {
    const auto index = static_cast<std::size_t>(pass) - 1;
    const ModelError& error = experience.of_pass(pass);
    const auto knot_count = static_cast<Eigen::Index>(knots().size());
    const Eigen::MatrixXd root = Eigen::MatrixXd(error.covariance.topLeftCorner(knot_count, knot_count) +
                                                 1e-12 * Eigen::MatrixXd::Identity(knot_count, knot_count))
                                     .llt()
                                     .matrixL();
    std::vector<EnvelopePoint> points;
    for (const double gap : gaps[index]) {
      std::vector<double> parts_kn, unknown_kn;
      for (const auto& curves : drawn_curves) {
        const auto& curve = curves[index];
        const double u = curve.touch_gap_mm > 0 ? gap / curve.touch_gap_mm : 0;
        const Eigen::VectorXd shares = knot_shares(u);
        const double model_kn = curve.force_at(gap) * die_mm / 1000;
        const double slope =
            std::abs(curve.force_at(gap - 0.02) - curve.force_at(gap + 0.02)) / 0.04 * die_mm / 1000;
        const double known = shares.dot(error.mean.head(knot_count));
        Eigen::VectorXd luck(knot_count);
        for (Eigen::Index k = 0; k < knot_count; ++k) luck[k] = normal(dice);
        const double between = std::sqrt(
            std::max(0.0, shares.dot(error.between_parts.topLeftCorner(knot_count, knot_count) * shares)));
        const double unknown = shares.dot(root * luck);
        const double sensed = model_kn * (1 + known + between * normal(dice)) * (1 + 0.01 * normal(dice)) +
                              std::hypot(kn_noise, 0.011 * slope) * normal(dice);
        parts_kn.push_back(sensed);
        unknown_kn.push_back(model_kn * unknown);
      }
      EnvelopePoint point;
      point.gap_mm = gap;
      point.middle_kn = quantile(parts_kn, 0.5);
      // Where accepted parts scatter more than tolerances and sensors explain, so does what is expected of
      // the next.
      const double parts_deviation = deviation(parts_kn);
      const double model_deviation = deviation(unknown_kn);
      if (point.middle_kn > 0) {
        point.parts_share = parts_deviation / point.middle_kn;
        point.model_share = model_deviation / point.middle_kn;
      }
      // The tails from the spread: four thousand parts say little of the last thousandth by counting. The
      // bulk is close to normal; the drawings' limits make it a little shorter, so this errs to the wide
      // side.
      static const boost::math::normal standard;
      const double tail = (1 - setting.inside) / 2;
      const double reach =
          boost::math::quantile(standard, 1 - tail) * std::hypot(parts_deviation, model_deviation);
      point.least_kn = std::max(0.0, point.middle_kn - reach);
      point.most_kn = point.middle_kn + reach;
      points.push_back(point);
    }
    out.by_pass.push_back(std::move(points));
  }
  return out;
}

}  // namespace shankwright::diagnosis
