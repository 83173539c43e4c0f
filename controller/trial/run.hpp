#pragma once
#include "trial/report.hpp"

namespace shankwright::trial {

struct Request {
  Bench bench;
  prediction::SurfaceError model_error;
  std::vector<double> forces_kn;  ///< to sweep, rising; empty: chosen_forces_kn()
  /// Force per mm at the closed gap less the gap sensor's scatter, by pass, of the corner part; empty: not
  /// known.
  std::vector<double> corner_n_per_mm;
  prediction::Part corner{};
  std::vector<std::vector<double>>
      envelope_gaps_mm;  ///< by pass, falling; where the draft's envelope is wanted
  std::size_t fittings = 20000;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< the answer does not depend on it
};

/// Presses every fitting at every force. The same request gives the same report to the last bit.
[[nodiscard]] Report run(const Request& request);

/// From 60 % of the centre part's closing force to the die's or the press's limit, whichever comes first, in
/// whole kN: every 4 % near closing and the last few below the limit, where the answer turns,
/// and farther apart elsewhere.
[[nodiscard]] std::vector<double> chosen_forces_kn(const Bench& bench);

/// Relative error of the surface's force at this share of the first contact's gap (0 closed, 1 first
/// contact); the greatest of the neighbouring gaps.
[[nodiscard]] double force_error_at(const prediction::SurfaceError& error, std::size_t pass,
                                    double gap_share);

/// Target force that closes the centre part with a press that has no error, at the dies.
[[nodiscard]] double centre_closing_kn(const Bench& bench);

/// Gap that the dies surely reach when they read as closed.
[[nodiscard]] double sure_gap_mm(const Bench& bench);

/// The part with every input at the end of its scatter that asks for more force at closing, and the rope
/// fully gripped (grip 1).
[[nodiscard]] prediction::Part corner_part(const Bench& bench);

}  // namespace shankwright::trial
