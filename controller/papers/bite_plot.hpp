#pragma once
#include "papers/sheet.hpp"
#include "papers/words_of.hpp"

namespace shankwright::papers {

/// A bite's trace: force against gap while the dies close, with the forces accepted and the peak's limits;
/// force and gap against time beside it. Nothing is drawn of a bite without a trace.
void bite_plot(Sheet& sheet, const review::Evidence& evidence, const review::BiteEvidence& bite,
               UnitSystem units);

}  // namespace shankwright::papers
