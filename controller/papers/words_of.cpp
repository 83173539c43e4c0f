#include "papers/words_of.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "quantity/quantity.hpp"
#include "review/entry_words.hpp"
#include "review/layout.hpp"
#include "review/time.hpp"

namespace shankwright::papers {
namespace {

using review::Dimension;
using review::Measurement;

std::string number_of(double value, Dimension dimension, UnitSystem units) {
  switch (dimension) {
    case Dimension::length:
      return quantity::length_number(value, units);
    case Dimension::force:
      return quantity::force_number(value, units);
    case Dimension::angle:
      return quantity::print(value, "", 1);
    case Dimension::fraction:
      return quantity::print(100 * value, "", 1);
    case Dimension::duration:
      return value >= 10'000 ? quantity::print(value / 1000, "", 1) : quantity::print(value, "", 0);
    case Dimension::words:
      break;
  }
  return "";
}

std::string unit_of(const Measurement& read, UnitSystem units) {
  switch (read.dimension) {
    case Dimension::length:
      return quantity::length_unit(units);
    case Dimension::force:
      return quantity::force_unit(units);
    case Dimension::angle:
      return "deg";
    case Dimension::fraction:
      return "%";
    case Dimension::duration:
      return "";  // each value has its own
    case Dimension::words:
      break;
  }
  return "";
}

std::string with_own_unit(double value, const Measurement& read, UnitSystem units) {
  if (read.dimension == Dimension::duration)
    return number_of(value, read.dimension, units) + (value >= 10'000 ? " s" : " ms");
  return number_of(value, read.dimension, units) + " " + unit_of(read, units);
}

std::string band(const review::Json& of, std::string (*number)(double, UnitSystem), const std::string& unit,
                 UnitSystem units) {
  const auto least = review::number_at(of, {"least"}), most = review::number_at(of, {"most"});
  return least && most ? fmt::format("{} to {} {}", number(*least, units), number(*most, units), unit) : "-";
}

std::string whats(const std::vector<review::FindingInWords>& findings) {
  std::string out;
  for (const auto& finding : findings) out += (out.empty() ? "" : " ") + finding.what;
  return out.empty() ? "by a person, without a finding." : out;
}

}  // namespace

std::string value_text(const Measurement& read, UnitSystem units, std::size_t list_most) {
  if (read.dimension == Dimension::words) return review::spoken(read.words);
  if (read.values.empty()) return "-";
  if (read.values.size() == 1) return with_own_unit(read.values.front(), read, units);
  const auto [low, high] = std::minmax_element(read.values.begin(), read.values.end());
  if (read.values.size() > list_most)
    return fmt::format("{} to {} ({} readings)", number_of(*low, read.dimension, units),
                       with_own_unit(*high, read, units), read.values.size());
  std::string out;
  for (const double value : read.values)
    out += (out.empty() ? "" : ", ") + number_of(value, read.dimension, units);
  return out + " " + unit_of(read, units);
}

std::string limits_text(const Measurement& read, UnitSystem units) {
  if (read.dimension == Dimension::words) return read.wanted.empty() ? "-" : read.wanted;
  if (read.least && read.most)
    return fmt::format("{} to {}", number_of(*read.least, read.dimension, units),
                       with_own_unit(*read.most, read, units));
  if (read.least) return "at least " + with_own_unit(*read.least, read, units);
  if (read.most) return "at most " + with_own_unit(*read.most, read, units);
  return "-";
}

std::string against_text(review::Against against) {
  switch (against) {
    case review::Against::inside:
      return "within";
    case review::Against::outside:
      return "OUTSIDE";
    case review::Against::not_proven:
      return "not proven";
    case review::Against::no_limits:
      break;
  }
  return "-";
}

std::string name_text(const Measurement& read) {
  auto out = read.name;
  if (read.pass) out += fmt::format(", pass {}", *read.pass);
  if (read.bite) out += fmt::format(" bite {}", *read.bite);
  return out;
}

std::string gauge_text(const Measurement& read) {
  if (read.gauge.empty()) return "-";
  if (read.gauge_calibration_due.empty()) return read.gauge;
  return fmt::format("{}, due {}", read.gauge, read.gauge_calibration_due);
}

std::string instant_text(std::int64_t utc_us) {
  auto out = review::utc_text(utc_us, 0).substr(0, 16);
  std::replace(out.begin(), out.end(), 'T', ' ');
  return out + " UTC";
}

std::string length_or_dash(const std::optional<double>& mm, UnitSystem units) {
  return mm ? quantity::length_text(*mm, units) : "-";
}
std::string force_or_dash(const std::optional<double>& kn, UnitSystem units) {
  return kn ? quantity::force_text(*kn, units) : "-";
}
std::string length_band(const review::Json& of, UnitSystem units) {
  return band(of, quantity::length_number, quantity::length_unit(units), units);
}
std::string force_band(const review::Json& of, UnitSystem units) {
  return band(of, quantity::force_number, quantity::force_unit(units), units);
}

std::string verdict_sentence(const review::Evidence& evidence) {
  if (evidence.row.stage != "released") return "Not released: " + review::state_text(evidence) + ".";
  if (review::accepted_by_disposition(evidence))
    return "Held, then accepted as it is by a reviewer's disposition: a person's judgement stands in place "
           "of "
           "evidence that is missing or out of limits.";
  if (evidence.row.verdict == "re-pressed") return "Accepted on its measurements after pressing again.";
  return "Accepted on its measurements.";
}

std::string proof_load_sentence(const review::Evidence& evidence, const std::vector<Measurement>& read,
                                UnitSystem units) {
  std::string found;
  auto worst = review::Against::inside;
  for (const auto& one : read) {
    if (one.event != "proof_load" || one.superseded) continue;
    found += fmt::format("{}{} {} ({})", found.empty() ? "" : ", ", one.name, value_text(one, units, 1),
                         limits_text(one, units));
    if (one.against == review::Against::outside) worst = one.against;
  }
  const auto& asked = review::at_path(evidence.recipe, {"recipe", "proof"});
  if (!found.empty()) return found + (worst == review::Against::outside ? ": OUTSIDE its limits." : ".");
  if (!asked.is_object()) return "Not asked for by the recipe; none on record.";
  return fmt::format("Asked for by the recipe (at least {}), NOT ON RECORD.",
                     force_or_dash(review::number_at(asked, {"load_kn"}), units));
}

std::string hold_sentence(const review::HoldEvidence& hold) {
  return fmt::format("Held {}, entry {}: {}", instant_text(hold.at_utc_us), hold.sequence,
                     whats(hold.findings));
}

std::string disposition_sentence(const review::DispositionEvidence& one) {
  const std::string decided = one.disposition == "use_as_is" ? "use as it is"
                              : one.disposition.empty()      ? "a disposition without a name"
                                                             : review::spoken(one.disposition);
  return fmt::format("{} {}, entry {}: {}, by {}{}. Reason given: {}", one.proposed ? "Proposed" : "Disposed",
                     instant_text(one.at_utc_us), one.sequence, decided, one.actor,
                     !one.signed_with_pin   ? ""
                     : *one.signed_with_pin ? ", signed with PIN"
                                            : ", not signed",
                     one.reason.empty() ? "none" : one.reason);
}

std::string quarantine_sentence(const review::QuarantineEvidence& one) {
  return fmt::format("{}, entry {}: {} {} {} by {}. Reason given: {}", instant_text(one.at_utc_us),
                     one.sequence, review::spoken(one.item), one.id,
                     one.lifted ? "freed from quarantine" : "put under quarantine", one.actor,
                     one.reason.empty() ? "none" : one.reason);
}

std::string correction_sentence(const review::EntryEvidence& correction) {
  return fmt::format("{}, entry {} corrects entry {}, by {}: {} Reason given: {}",
                     instant_text(correction.at_utc_us), correction.sequence,
                     correction.corrects ? std::to_string(*correction.corrects) : "unknown", correction.actor,
                     correction.text.empty() ? "(no text)" : correction.text,
                     correction.reason.empty() ? "none" : correction.reason);
}

}  // namespace shankwright::papers
