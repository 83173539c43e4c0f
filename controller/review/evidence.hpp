#pragma once
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "review/bite.hpp"

/// The evidence for one serial, taken apart but not yet laid out. Reads entries of older programs too: what a
/// body does not say is missing here, and a body that is not JSON is kept as the text it is.
namespace shankwright::review {

using Json = nlohmann::ordered_json;

struct FindingInWords {
  std::string code, what, what_to_do;  ///< for a code this program does not know, `what` is the code
  double found = 0, least = 0, most = 0;
};

struct EntryEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::string kind, event, actor, stage, gauge, reason, note;
  std::vector<FindingInWords> findings;
  Json orders = Json::array();
  Json event_fields = Json::object();
  Json body;
};

struct BiteEvidence {
  std::int64_t sequence = 0, at_utc_us = 0;
  std::optional<int> pass, bite;
  std::optional<double> peak_pressure_bar, peak_force_kn, least_gap_mm,
      dwell_ms;  ///< as the press reported them
  std::optional<std::uint32_t> samples_missing;
  std::vector<double> force_at_envelope_gaps_kn;
  /// [{"gap_mm","force_kn":{"least","most"}}], what this bite was judged by: the recipe's envelope scaled to
  /// the shank it worked. Null in records that do not say.
  Json accepted_force;
  std::vector<ports::Sample> trace;
  std::optional<TraceSummary> summary;  ///< nothing without a trace
};

struct Evidence {
  ports::FittingRow row;
  Json recipe = Json::object();  ///< the joined recipe
  Json state = Json::object();
  std::vector<FindingInWords> standing;
  std::vector<EntryEvidence> entries;
  std::vector<BiteEvidence> bites;
  std::vector<std::pair<std::string, std::vector<std::string>>>
      gauges;  ///< id, events it was used for; as first used
};

[[nodiscard]] Result<Evidence> collect(const ports::RecordStore& record, const std::string& serial);

/// The text at a path of keys, numbers as number_text; empty where there is none.
[[nodiscard]] std::string text_at(const Json& from, std::initializer_list<const char*> path);
[[nodiscard]] std::optional<double> number_at(const Json& from, std::initializer_list<const char*> path);
/// What is at a path of keys, or null.
[[nodiscard]] const Json& at_path(const Json& from, std::initializer_list<const char*> path);

/// What every dossier says beside the evidence.
[[nodiscard]] const std::vector<std::string>& cautions();

}  // namespace shankwright::review
