#include "prediction/run.hpp"

#include <algorithm>
#include <cmath>

namespace shankwright::prediction {

Result<Numbers> run_section(const mechanics::SqueezeInput& input, int passes, double first_stop_mm) {
  if (auto fault = mechanics::fault_of(input)) return *fault;
  Numbers out;
  out.reserve(static_cast<std::size_t>(passes) * numbers_in_pass);
  try {
    mechanics::Section section(input.section, input.die, input.fineness);
    for (int pass = 1; pass <= passes; ++pass) {
      if (pass > 1) section.quarter_turn();
      const double touch_mm = section.touch_gap_mm();
      const double stop_mm = pass == 1 ? first_stop_mm : 0;
      Numbers forces(gaps_in_curve, 0.);
      Numbers growths(gaps_in_curve, section.reading().growth);
      mechanics::SectionReading closed = section.reading();
      for (std::size_t i = 1; i < gaps_in_curve; ++i) {
        const double gap_mm = touch_mm * (1 - static_cast<double>(i) / (gaps_in_curve - 1));
        if (gap_mm >= stop_mm) section.close_to(gap_mm);
        if (gap_mm < stop_mm && section.gap_mm() > stop_mm) section.close_to(stop_mm);
        closed = section.reading();
        forces[i] = closed.force_n_per_mm;
        growths[i] = closed.growth;
      }
      section.open();
      const mechanics::SectionReading left = section.reading();
      out.push_back(touch_mm);
      out.insert(out.end(), forces.begin(), forces.end());
      out.insert(out.end(), growths.begin(), growths.end());
      out.push_back(left.base_width_mm - closed.base_width_mm);
      out.push_back(left.side_width_mm - closed.side_width_mm);
      out.push_back(closed.growth - left.growth);
      out.push_back(left.rope_packing);
      out.push_back(pass > 1 ? left.first_width_mm : 0);
    }
  } catch (const mechanics::NoEquilibrium& none) {
    return Problem{"section", none.what(), "dimensions nearer to those of a swaged terminal"};
  }
  return out;
}

std::vector<PassCurve> curves_of(const Numbers& numbers) {
  std::vector<PassCurve> out;
  for (std::size_t at = 0; at + numbers_in_pass <= numbers.size(); at += numbers_in_pass) {
    const auto from = numbers.begin() + static_cast<std::ptrdiff_t>(at);
    constexpr auto length = static_cast<std::ptrdiff_t>(gaps_in_curve);
    PassCurve curve;
    curve.touch_gap_mm = std::max(0., *from);
    curve.force_n_per_mm.assign(from + 1, from + 1 + length);
    curve.growth_loaded.assign(from + 1 + length, from + 1 + 2 * length);
    const auto rest = from + 1 + 2 * length;
    curve.base_recoil_mm = rest[0];
    curve.side_recoil_mm = rest[1];
    curve.growth_recoil = rest[2];
    curve.rope_packing = rest[3];
    curve.earlier_flats_mm = rest[4];
    out.push_back(std::move(curve));
  }
  return out;
}

}  // namespace shankwright::prediction
