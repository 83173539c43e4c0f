#include "diagnosis/observation.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::diagnosis {
namespace {

using prediction::PassCurve;

// Sensors of a press in order (assumptions; the press's own papers say better): standard deviations.
constexpr double pressure_bar = 0.2;  // noise, drift and how well idle is known
constexpr double gap_noise_mm = 0.003;
constexpr double gap_play_mm = 0.01;   // the whole reading, from bite to bite
constexpr double gap_zero_mm = 0.006;  // what the reading shows with the faces met
constexpr double touch_noise_mm = 0.02;
constexpr double gauge_share = 0.01;  // of force: calibration of the transmitter, seal friction
constexpr double foreign_share =
    0.3;  // of the prior doubt's variance, added where what was learned is another section's
constexpr double face_mm_per_kn = 5e-6;  // die faces on each other
constexpr double contact_share = 0.2;    // of the closing force: how much an early corner may carry
constexpr double along_reach = 1.5;      // the curve is carried this far above first contact in later passes
constexpr std::size_t along_count = 61;

/// Force of one bite against the true gap, on even steps of u from `from_u` down to 0.
struct Curve {
  double touch_mm = 0, from_u = 1;
  std::vector<double> kn;
  [[nodiscard]] double gap_of(std::size_t i) const {
    return touch_mm * from_u * (1 - static_cast<double>(i) / static_cast<double>(kn.size() - 1));
  }
  [[nodiscard]] double at(double gap_mm) const {
    if (gap_mm <= 0) return kn.back() - gap_mm / face_mm_per_kn;
    const double top = touch_mm * from_u;
    if (gap_mm >= top) return 0;
    const double place = (1 - gap_mm / top) * static_cast<double>(kn.size() - 1);
    const auto low = std::min(static_cast<std::size_t>(place), kn.size() - 2);
    return kn[low] + (place - static_cast<double>(low)) * (kn[low + 1] - kn[low]);
  }
  /// Gap at which this force is first passed; a little below 0 once the faces press on each other.
  [[nodiscard]] double gap_at(double force) const {
    for (std::size_t i = 1; i < kn.size(); ++i) {
      if (kn[i] < force) continue;
      const double rise = kn[i] - kn[i - 1];
      const double share = rise > 0 ? std::clamp((force - kn[i - 1]) / rise, 0.0, 1.0) : 1;
      return gap_of(i - 1) + share * (gap_of(i) - gap_of(i - 1));
    }
    return kn.empty() ? 0 : -(force - kn.back()) * face_mm_per_kn;
  }
};

const PassCurve& of_pass(const std::vector<PassCurve>& curves, int pass) {
  return curves.at(std::min(static_cast<std::size_t>(std::max(pass, 1)), curves.size()) - 1);
}

/// kN on the length that one millimetre of model stands for. Shank that grows pushes squeezed shank out of
/// the die.
double length_mm(const BitePlace& place, double growth, double growth_before) {
  const double grown = place.fresh_mm * (1 + growth) / (1 + growth_before);
  const double all = grown + place.squeezed_mm;
  return all > place.die_length_mm ? grown * place.die_length_mm / all : grown;
}

struct Nudge {
  std::size_t input = prediction::input_count;  ///< none
  Eigen::Index weight = -1;
  double weight_step = 0;
  double length_mm = 0, gap_mm = 0;
};

class Observer {
 public:
  Observer(const Forecast& forecast, const Case& one, const BitePlace& place, const ModelError& error)
      : forecast_(forecast), case_(one), place_(place), error_(error) {
    const double from_u = place.pass > 1 ? along_reach : 1.0;
    const auto knot_count = static_cast<Eigen::Index>(knots().size());
    shares_.resize(along_count, knot_count);
    for (std::size_t i = 0; i < along_count; ++i)
      shares_.row(static_cast<Eigen::Index>(i)) =
          knot_shares(from_u * (1 - static_cast<double>(i) / (along_count - 1))).transpose();
    off_ = shares_ * error.mean.head(knot_count);
  }

  /// `as_modelled`: without what is known of the model's error.
  [[nodiscard]] Curve curve(const Nudge& nudge, bool as_modelled = false) const {
    const PassCurve& own = of_pass(case_.curves, place_.pass);
    const PassCurve& centre = of_pass(forecast_.centre, place_.pass);
    const PassCurve* moved = nudge.input < forecast_.moved.size() && !forecast_.moved[nudge.input].empty()
                                 ? &of_pass(forecast_.moved[nudge.input], place_.pass)
                                 : nullptr;
    const bool later = place_.pass > 1;
    Curve out;
    out.touch_mm = own.touch_gap_mm;
    if (moved && own.touch_gap_mm > 0)
      out.touch_mm = std::max(0.0, out.touch_mm + moved->touch_gap_mm - centre.touch_gap_mm);
    out.from_u = later ? along_reach : 1.0;
    out.kn.assign(along_count, 0.0);
    if (out.touch_mm <= 0) return out;
    BitePlace place = place_;
    double overrun = error_.overrun();
    if (nudge.weight == ModelError::overrun_index()) overrun += nudge.weight_step;
    const double grown_before = (1 + own.growth_loaded.back()) / (1 + own.growth_loaded.front()) - 1;
    const double overrun_mm = std::clamp(overrun * grown_before * place.before_mm, 0.0, place.fresh_mm);
    place.squeezed_mm += overrun_mm;
    place.fresh_mm = std::max(0.0, place.fresh_mm - overrun_mm + nudge.length_mm);
    const double before = own.growth_loaded.front();
    const auto closed_kn =
        own.force_n_per_mm.back() * length_mm(place, own.growth_loaded.back(), before) / 1000;
    for (std::size_t i = 0; i < along_count; ++i) {
      const double u = out.from_u * (1 - static_cast<double>(i) / (along_count - 1));
      double per_mm = u < 1 ? own.force_at(u * own.touch_gap_mm) : 0;
      if (moved && u < 1) {
        const double middle = centre.force_at(u * centre.touch_gap_mm);
        if (middle > 0) per_mm *= std::clamp(moved->force_at(u * moved->touch_gap_mm) / middle, 0.5, 2.0);
      }
      double kn = per_mm * length_mm(place, own.growth_at(u * own.touch_gap_mm), before) / 1000;
      if (case_.solid_share > 0 && !forecast_.solid.empty()) {
        const PassCurve& solid = of_pass(forecast_.solid, place_.pass);
        kn = (1 - case_.solid_share) * kn +
             case_.solid_share * solid.force_at(u * own.touch_gap_mm) * place_.die_length_mm / 1000;
      }
      double reference = kn;
      if (later) {
        const double rise = std::clamp((u - 0.35) / 0.2, 0.0, 1.0);
        const double fall = std::clamp((along_reach - u) / 0.25, 0.0, 1.0);
        reference += contact_share * closed_kn * std::min(rise, fall);
      }
      const auto row = static_cast<Eigen::Index>(i);
      double off = off_[row];
      if (nudge.weight >= 0 && nudge.weight < shares_.cols())
        off += shares_(row, nudge.weight) * nudge.weight_step;
      out.kn[i] = as_modelled ? kn : std::max(0.0, kn + reference * off);
    }
    return out;
  }

  [[nodiscard]] Eigen::VectorXd observe(const Reading& reading, const Measured& measured,
                                        const Nudge& nudge) const {
    const Curve force = curve(nudge);
    const auto count = static_cast<Eigen::Index>(measured.gaps_mm.size());
    Eigen::VectorXd out(count + 3);
    const double offset = case_.gap_offset_mm + nudge.gap_mm;
    const auto shown = [&](double true_gap, double kn) {
      return std::max(0.0, std::max(0.0, true_gap) + offset + case_.gap_mm_per_kn * kn);
    };
    // Read off the model as off the trace. The error of first contact has a weight of its own.
    const Curve modelled = curve(nudge, true);
    double touch = 0;
    if (modelled.touch_mm > 0) {
      const double low = modelled.gap_at(reading.touch_low_kn), high = modelled.gap_at(reading.touch_high_kn);
      const double onward =
          reading.touch_low_kn / (reading.touch_high_kn - reading.touch_low_kn) * (low - high);
      touch = std::max(0.0, low + onward + error_.touch_mm() + offset);
    }
    if (touch > 0 && nudge.weight == ModelError::touch_index()) touch += nudge.weight_step;
    out[0] = std::max(0.0, touch);
    for (Eigen::Index i = 0; i < count; ++i) {
      double gap = measured.gaps_mm[static_cast<std::size_t>(i)] - offset;
      double kn = force.at(gap);
      if (case_.gap_mm_per_kn > 0)
        for (int twice = 0; twice < 3; ++twice) {
          gap = measured.gaps_mm[static_cast<std::size_t>(i)] - offset -
                case_.gap_mm_per_kn * std::min(kn, reading.peak_kn);
          kn = force.at(gap);
        }
      out[i + 1] = std::min(kn, std::max(reading.peak_kn, force.kn.back()));
    }
    const double most = shown(force.gap_at(reading.peak_kn), reading.peak_kn);
    out[count + 1] = most;
    out[count + 2] = most - shown(force.gap_at(0.9 * reading.peak_kn), 0.9 * reading.peak_kn);
    return out;
  }

  [[nodiscard]] double kn_per_mm(const Curve& force, double gap_mm) const {
    return std::abs(force.at(std::max(0.005, gap_mm - 0.02)) - force.at(gap_mm + 0.02)) / 0.04;
  }

 private:
  const Forecast& forecast_;
  const Case& case_;
  const BitePlace& place_;
  const ModelError& error_;
  Eigen::MatrixXd shares_;  ///< of each knot, by point of the curve
  Eigen::VectorXd off_;
};

}  // namespace

std::vector<double> looked_at_mm(const Forecast& forecast, int pass) {
  // Not between half and three quarters of the way: there the base flats come into contact, sooner or later
  // from part to part, and a force read on either side of that step says little.
  static const std::vector<double> first{1.25, 1.08, 0.94, 0.82, 0.46, 0.36, 0.26, 0.16, 0.06};
  static const std::vector<double> later{1.5, 1.25, 1.05, 0.85, 0.46, 0.36, 0.26, 0.16, 0.06};
  std::vector<double> out;
  for (const double u : pass > 1 ? later : first)
    out.push_back(u * of_pass(forecast.centre, pass).touch_gap_mm);
  return out;
}

Measured measured_of(const Reading& reading, const std::vector<double>& gaps_mm) {
  Measured out;
  std::vector<double> forces;
  for (const double gap : gaps_mm) {
    if (gap < reading.end_gap_mm + 0.02) continue;
    if (const auto force = reading.force_at_kn(gap)) {
      out.gaps_mm.push_back(gap);
      forces.push_back(*force);
    }
  }
  const auto count = static_cast<Eigen::Index>(forces.size());
  out.values.resize(count + 3);
  out.values[0] = reading.touch_gap_mm.value_or(0);
  for (Eigen::Index i = 0; i < count; ++i) out.values[i + 1] = forces[static_cast<std::size_t>(i)];
  out.values[count + 1] = reading.end_gap_mm;
  out.values[count + 2] = reading.end_rise_mm;
  return out;
}

double doubt_left(const Case& one, int pass) {
  if (one.hypothesis == Hypothesis::good && one.foreign) return foreign_share;
  if (one.hypothesis == Hypothesis::good || one.hypothesis == Hypothesis::weak_pump_or_air) return 0;
  if (one.hypothesis == Hypothesis::wrong_die && std::abs(one.size) > 0.5)
    return 2;  // far from anything learned
  // In later passes first contact and growth depend on what the first pass left: another part's error is
  // another.
  if (pass > 1) return one.foreign ? 1.0 : 0.3;
  return one.foreign ? foreign_share : 0.2;
}

Eigen::MatrixXd Expected::scatter(const ModelError& error) const {
  return parts + sensors + error.widening() * between;
}

Eigen::MatrixXd Expected::covariance(const ModelError& error, double doubt) const {
  Eigen::MatrixXd weights = error.covariance;
  if (error.parts > 0) weights += doubt * error.prior;
  return scatter(error) + by_weight * weights * by_weight.transpose();
}

Expected expected_of(const Forecast& forecast, const Case& one, const BitePlace& place,
                     const ModelError& error, const Reading& reading, const Measured& measured) {
  const Observer observer(forecast, one, place, error);
  Expected out;
  out.mean = observer.observe(reading, measured, {});
  const auto size = out.mean.size();
  out.parts = Eigen::MatrixXd::Zero(size, size);
  for (std::size_t input = 0; input < forecast.moved.size(); ++input) {
    if (forecast.moved[input].empty()) continue;
    Nudge nudge;
    nudge.input = input;
    const Eigen::VectorXd effect = observer.observe(reading, measured, nudge) - out.mean;
    out.parts += effect * effect.transpose();
  }
  out.by_weight.resize(size, error.mean.size());
  for (Eigen::Index weight = 0; weight < error.mean.size(); ++weight) {
    Nudge nudge;
    nudge.weight = weight;
    nudge.weight_step = 0.02;  // a share of force, or mm of touch
    out.by_weight.col(weight) = (observer.observe(reading, measured, nudge) - out.mean) / nudge.weight_step;
  }
  out.between = out.by_weight * error.between_parts * out.by_weight.transpose();

  out.sensors = Eigen::MatrixXd::Zero(size, size);
  const auto add = [&](const Eigen::VectorXd& effect) { out.sensors += effect * effect.transpose(); };
  Nudge shorter;
  shorter.length_mm = -place.deviation_mm;
  add(observer.observe(reading, measured, shorter) - out.mean);
  Nudge play;
  play.gap_mm = gap_play_mm;
  Eigen::VectorXd played = observer.observe(reading, measured, play) - out.mean;
  played[size - 2] = played[size - 1] = 0;  // faces met stay where they are, to the sensor's noise
  add(played);
  Eigen::VectorXd gauge = gauge_share * out.mean;
  gauge[0] = gauge[size - 2] = gauge[size - 1] = 0;
  add(gauge);
  const Curve force = observer.curve({});
  const double noise_kn = pressure_bar * forecast.joined.press.ram_area_mm2 * 1e-4;
  out.sensors(0, 0) += touch_noise_mm * touch_noise_mm;
  for (Eigen::Index i = 1; i + 2 < size; ++i) {
    const double slope = observer.kn_per_mm(force, measured.gaps_mm[static_cast<std::size_t>(i - 1)]);
    const double from_gap = gap_noise_mm * slope;
    out.sensors(i, i) += noise_kn * noise_kn + from_gap * from_gap;
  }
  out.sensors(size - 2, size - 2) += gap_zero_mm * gap_zero_mm;
  out.sensors(size - 1, size - 1) += gap_noise_mm * gap_noise_mm;
  return out;
}

double expected_force_kn(const Forecast& forecast, const Case& one, const BitePlace& place,
                         const ModelError& error, double gap_mm) {
  return Observer(forecast, one, place, error).curve({}).at(gap_mm - one.gap_offset_mm);
}

}  // namespace shankwright::diagnosis
