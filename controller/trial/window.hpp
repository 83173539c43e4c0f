#pragma once
#include "trial/report.hpp"

namespace shankwright::trial {

/// The window of target forces. `against_kn`: for each fitting the target that closes it with the press
/// against it. `corner_n_per_mm` by pass, empty when not known. `force_error`: relative error of the model,
/// added to what the population asks for.
///
/// Lower end: 99.9 % of the fittings close. Upper end: the force limit, at least 8 % above the target, stays
/// within die rating, press capacity and pressure; and the target within 85 % of the press's capacity and
/// pressure, unless that leaves nothing: then the margin is given up and said to be. Recommended: 8 % above
/// the lower end, or the upper end. The corner part is shown beside it and does not move it: a rope gripped
/// from the first contact on is beyond what the population holds, dies that do not close are held by the
/// procedure, and force that no part needs wears dies.
[[nodiscard]] Window window_of(const Bench& bench, const std::vector<double>& against_kn,
                               const std::vector<double>& corner_n_per_mm, double force_error);

/// Rounded up to a force a person would set: whole kN, half kN below 50 kN.
[[nodiscard]] double settable_kn(double force_kn);

}  // namespace shankwright::trial
