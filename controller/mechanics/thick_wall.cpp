#include "mechanics/thick_wall.hpp"

#include <cmath>
#include <numbers>

namespace shankwright::mechanics {

double elastic_widening_mm(double bore_mm, double outer_diameter_mm, double pressure_mpa, double young_mpa,
                           double poisson) {
  const double a2 = bore_mm * bore_mm;
  const double b2 = outer_diameter_mm * outer_diameter_mm;
  return pressure_mpa * bore_mm / young_mpa * ((b2 + a2) / (b2 - a2) + poisson);
}

double first_yield_pressure_mpa(double bore_mm, double outer_diameter_mm, double yield_mpa) {
  // At the bore: hoop p (b2 + a2)/(b2 - a2), radial -p, axial 0.
  const double a2 = bore_mm * bore_mm;
  const double b2 = outer_diameter_mm * outer_diameter_mm;
  const double hoop = (b2 + a2) / (b2 - a2);
  return yield_mpa / std::sqrt(hoop * hoop + hoop + 1);
}

double plastic_pressure_mpa(double bore_mm, double outer_diameter_mm, double yield_mpa) {
  return 2 / std::numbers::sqrt3 * yield_mpa * std::log(outer_diameter_mm / bore_mm);
}

}  // namespace shankwright::mechanics
