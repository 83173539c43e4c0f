#pragma once
#include <functional>
#include <string>
#include <vector>

#include "diagnosis/diagnose.hpp"
#include "ports/ports.hpp"

/// Bites as the record keeps them, as the diagnosis wants them.
namespace shankwright::command {

struct StoredBite {
  std::int64_t sequence = 0;  ///< of its entry
  int pass = 0, bite = 0;     ///< both from 1
  /// Why it cannot be diagnosed: no trace, a re-press, metal squeezed by an unfinished bite before. Empty
  /// otherwise.
  std::string why_not;
  diagnosis::TracedBite traced;
};

struct StoredFitting {
  std::vector<StoredBite> bites;
  bool was_held = false;  ///< at any time
};

/// Problem when the record cannot be read, or its recipe is not one.
[[nodiscard]] Result<StoredFitting> stored_fitting(const ports::RecordStore& record,
                                                   const ports::FittingRow& row);

/// Learns from the newest accepted fittings made to the same rope, terminal, die pair, press and passes,
/// `most` of them at most; never from held (at any time), re-pressed, scrapped or open ones, nor from
/// `except`. Problem when the record cannot be read.
[[nodiscard]] Result<diagnosis::Experience> learned_from(const ports::RecordStore& record,
                                                         const diagnosis::Forecast& forecast,
                                                         std::size_t most, const std::string& except = "");

/// Shows progress on a terminal, is silent in a pipe.
[[nodiscard]] std::function<void(int done, int all)> forecast_progress();

}  // namespace shankwright::command
