#include "planning/stretch.hpp"

#include <algorithm>
#include <cctype>
#include <string>

#include "recipe/rope.hpp"

namespace shankwright::planning {
namespace {

using recipe::Construction;

/// 1 lbf/in2 in MPa: NIST SP 811, Appendix B.9, from the exact definitions.
constexpr double psi_mpa = 0.45359237 * 9.80665 / (25.4 * 25.4);

bool is_stainless(const recipe::Rope& rope) {
  std::string material = rope.material;
  std::transform(material.begin(), material.end(), material.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return material.find("stainless") != std::string::npos ||
         material.find("corrosion-resistant") != std::string::npos;
}

/// A rope maker's stretch page: stainless 302/304, and galvanised.
double stretch_factor(Construction construction, bool stainless) {
  switch (construction) {
    case Construction::strand_1x19:
      return stainless ? 0.00000779 : 0.00000698;
    case Construction::rope_7x7:
      return stainless ? 0.0000120 : 0.0000107;
    case Construction::rope_7x19:
      return stainless ? 0.0000162 : 0.0000140;
  }
  return 0;
}

/// EN 1993-1-11: spiral strand 130 (stainless) and 150 GPa, strand rope with wire core 90 and 100 GPa. Values
/// from memory.
double structural_mpa(Construction construction, bool stainless) {
  if (construction == Construction::strand_1x19) return stainless ? 130e3 : 150e3;
  return stainless ? 90e3 : 100e3;
}

}  // namespace

ElasticModulus elastic_modulus(const recipe::Rope& rope) {
  const bool stainless = is_stainless(rope);
  ElasticModulus out;
  if (rope.elastic_modulus_mpa) {
    out.taken_mpa = *rope.elastic_modulus_mpa;
    out.taken_from = "the rope's file";
  } else {
    out.taken_mpa = 100 / stretch_factor(rope.construction, stainless) * psi_mpa / rope.metallic_area_factor;
    out.taken_from = "a rope maker's stretch factor for the construction";
  }
  out.other_mpa = structural_mpa(rope.construction, stainless);
  out.other_from = "EN 1993-1-11, value from memory";
  return out;
}

double elastic_strain(const recipe::Rope& rope, double tension_kn, double modulus_mpa) {
  return 1000 * tension_kn / (recipe::metallic_area_mm2(rope) * modulus_mpa);
}

}  // namespace shankwright::planning
