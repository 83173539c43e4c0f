#pragma once
#include <string>

#include "diagnosis/diagnose.hpp"

namespace shankwright::diagnosis {

struct Words {
  std::string feature, sentence;
};

/// What the trace shows against what a good bite would, where that speaks most for the likeliest case.
[[nodiscard]] Words words_for(const Forecast& forecast, const Experience& experience, const TracedBite& bite,
                              const Measured& measured, const Expected& good, const Expected& likeliest,
                              const Case& chosen, const Diagnosis& diagnosis);

}  // namespace shankwright::diagnosis
