#pragma once
#include <optional>
#include <string>

#include "quantity/unit_system.hpp"
#include "review/measurement.hpp"

/// What the papers say of a fitting, in words.
namespace shankwright::papers {

using quantity::UnitSystem;

/// "4.06, 4.07, 4.08 mm"; more than `list_most` readings as "6.184 to 6.193 mm (9 readings)".
[[nodiscard]] std::string value_text(const review::Measurement& read, UnitSystem units,
                                     std::size_t list_most);
/// "4.76 to 5.00 mm", "at most 0.30 mm", "passes"; "-" where there are none.
[[nodiscard]] std::string limits_text(const review::Measurement& read, UnitSystem units);
/// "within", "OUTSIDE", "not proven", "-"
[[nodiscard]] std::string against_text(review::Against against);
/// "across flats", "die edge to the boundary mark, pass 1 bite 2"
[[nodiscard]] std::string name_text(const review::Measurement& read);
/// The gauge and the last day of its calibration; "gauge not on record".
[[nodiscard]] std::string gauge_text(const review::Measurement& read);

/// "2031-03-31 14:02 UTC"
[[nodiscard]] std::string instant_text(std::int64_t utc_us);

/// "0.20 mm", "-" for nothing.
[[nodiscard]] std::string length_or_dash(const std::optional<double>& mm, UnitSystem units);
[[nodiscard]] std::string force_or_dash(const std::optional<double>& kn, UnitSystem units);
/// {"least", "most"} of a JSON value as lengths or forces; "-" where one is missing.
[[nodiscard]] std::string length_band(const review::Json& of, UnitSystem units);
[[nodiscard]] std::string force_band(const review::Json& of, UnitSystem units);

/// How the fitting came to be accepted, or that it is not: one sentence.
[[nodiscard]] std::string verdict_sentence(const review::Evidence& evidence);
/// What was asked of a proof load and what is on record of it: one sentence.
[[nodiscard]] std::string proof_load_sentence(const review::Evidence& evidence,
                                              const std::vector<review::Measurement>& read, UnitSystem units);
[[nodiscard]] std::string hold_sentence(const review::HoldEvidence& hold);
[[nodiscard]] std::string disposition_sentence(const review::DispositionEvidence& disposition);
[[nodiscard]] std::string quarantine_sentence(const review::QuarantineEvidence& quarantine);
[[nodiscard]] std::string correction_sentence(const review::EntryEvidence& correction);

}  // namespace shankwright::papers
