#pragma once
#include <string>

#include "review/evidence.hpp"

/// Short words about what the record says, for every form of the dossier.
namespace shankwright::review {

/// "across_flats" -> "across flats"
[[nodiscard]] std::string spoken(std::string name);

/// What the event itself said: measured values and results with their units, without what the station checked
/// around them.
[[nodiscard]] std::string fields_text(const Json& fields);

/// Verdict and stage: "accepted, not yet released".
[[nodiscard]] std::string state_text(const Evidence& evidence);

/// What the bite was judged by; the recipe's envelope for a whole die where the record does not say.
[[nodiscard]] const Json& accepted_force_of(const Evidence& evidence, const BiteEvidence& bite);

}  // namespace shankwright::review
