#pragma once
#include <memory>
#include <string>
#include <vector>

#include "record/store.hpp"

/// A record with a few fittings made by hand, as a station writes them; times, serials and traces never
/// change, so that what is printed of them can be approved. Demo data: nothing here was measured on a real
/// part.
namespace shankwright::review_test {

/// What every fitting of the sample was made to.
[[nodiscard]] recipe::JoinedRecipe sample_recipe();
/// Closing from 3 mm, force rising to the target, a dwell, opening; ten samples left out after `hole_after`.
[[nodiscard]] std::vector<ports::Sample> sample_trace(double target_bar, double closed_mm,
                                                      std::uint32_t hole_after = 0);

struct SampleSerials {
  std::string
      accepted;       ///< a bite let go of early and repeated, gauged, accepted after one re-press, released
  std::string held;   ///< a bite with a hole in its trace
  std::string begun;  ///< admitted, nothing more; a body that is no JSON and one with an unknown finding
  std::string given;  ///< a serial given and never begun
};

[[nodiscard]] SampleSerials write_sample(record::SqliteStore& store);

}  // namespace shankwright::review_test
