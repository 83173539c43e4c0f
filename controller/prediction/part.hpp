#pragma once
#include <array>
#include <cstddef>
#include <cstdint>

#include "mechanics/squeeze.hpp"
#include "quantity/result.hpp"
#include "recipe/model.hpp"

/// What may differ from one fitting of a recipe to the next and matters to its bite. Units mm, MPa.
namespace shankwright::prediction {

enum class Input : std::uint8_t {
  shank_diameter,  ///< mm, before swaging
  bore,            ///< mm
  rope_diameter,   ///< mm
  strength,        ///< flow stress of the shank over its nominal, 1
  friction,        ///< Coulomb, die on shank
  grip,            ///< 0 rope slides along the bore, 1 stretches with the shank
  across_flats,    ///< mm, of the dies as they are (new, or worn open)
};
inline constexpr std::size_t input_count = 7;

/// One fitting's values, by Input.
struct Part {
  std::array<double, input_count> values{};
  double& operator[](Input input) { return values[static_cast<std::size_t>(input)]; }
  double operator[](Input input) const { return values[static_cast<std::size_t>(input)]; }
  bool operator==(const Part&) const = default;
};

/// How one input scatters over the fittings of a shop.
struct Scatter {
  enum class Shape : std::uint8_t { normal, uniform };
  Shape shape = Shape::normal;
  double centre = 0;
  double half_width =
      0;  ///< normal: three standard deviations (cut off there); uniform: the whole half width
};

/// All of them, with what is the same for every fitting.
struct Population {
  std::array<Scatter, input_count> inputs{};
  Scatter& operator[](Input input) { return inputs[static_cast<std::size_t>(input)]; }
  const Scatter& operator[](Input input) const { return inputs[static_cast<std::size_t>(input)]; }
  [[nodiscard]] Part centre() const;
};

/// What lies in the bore, or that there is none.
struct Filling {
  enum class Kind : std::uint8_t { rope, empty, solid };
  Kind kind = Kind::rope;
  double metal_area_factor = 0;  ///< of the rope
  bool operator==(const Filling&) const = default;
};
[[nodiscard]] Filling filling_of(const recipe::JoinedRecipe& joined);

/// The fittings a recipe's drawings allow: shank, rope diameter over their bands (bore: its nominal within
/// +-0.5 %, dies within +0.02 mm of wear), flow stress within 8 %, friction 0.06 to 0.14, grip 0 to 0.22.
/// What no drawing says is a stated assumption of ours (no source): a shop replaces it by what it measures.
[[nodiscard]] Population population_of(const recipe::JoinedRecipe& joined);

/// Bare dimensions of one part for the section model.
[[nodiscard]] mechanics::SqueezeInput squeeze_input(const recipe::JoinedRecipe& joined,
                                                    const Filling& filling, const Part& part);

}  // namespace shankwright::prediction
