#pragma once
#include <cstdint>
#include <vector>

#include "diagnosis/diagnose.hpp"

/// Force a good bite shows at given gaps: what a recipe's envelope should say.
namespace shankwright::diagnosis {

struct EnvelopeSetting {
  std::vector<std::vector<double>> gaps_mm;  ///< by pass; empty: three gaps in the closing half
  double inside = 0.999;                     ///< share of good bites between least and most, per gap
  int parts = 4000;                          ///< drawn from the population
  std::uint64_t seed = 1;
};

struct EnvelopePoint {
  double gap_mm = 0;
  double least_kn = 0, middle_kn = 0, most_kn = 0;
  double parts_share = 0;  ///< standard deviation over the middle, from parts and sensors alone
  double model_share = 0;  ///< from the model's error as it is known now
};

struct Envelope {
  std::vector<std::vector<EnvelopePoint>> by_pass;
  int fittings = 0;  ///< accepted ones it rests on; 0: on the model alone
};

/// For a whole die length of fresh shank. Quantiles over the population the drawings allow, widened by the
/// sensors' and the model's error. Never narrower than parts and sensors: what accepted fittings teach is the
/// model's error only.
[[nodiscard]] Envelope envelope_of(const Forecast& forecast, const Experience& experience,
                                   const EnvelopeSetting& setting);

}  // namespace shankwright::diagnosis
