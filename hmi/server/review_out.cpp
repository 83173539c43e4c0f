#include "hmi/server/review_out.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "review/time.hpp"

namespace shankwright::hmi {
namespace {

const char* name_of(ports::Verification::State state) {
  switch (state) {
    case ports::Verification::State::never:
      return "never";
    case ports::Verification::State::running:
      return "running";
    case ports::Verification::State::done:
      return "done";
    case ports::Verification::State::failed:
      return "failed";
  }
  return "never";
}

Json findings_json(const std::vector<ports::IntegrityFinding>& findings) {
  Json out = Json::array();
  for (const auto& finding : findings)
    out.push_back(
        {{"entry", finding.sequence == 0 ? Json(nullptr) : Json(finding.sequence)}, {"what", finding.what}});
  return out;
}

Json seal_json(const std::optional<ports::Seal>& seal) {
  if (!seal) return nullptr;
  return {{"entry", seal->sequence},
          {"at_utc", review::utc_text(seal->at_utc_us, utc_decimals)},
          {"why", seal->why},
          {"head", seal->head_hex},
          {"public_key", seal->public_key_hex}};
}

Json instant(std::int64_t utc_us) {
  return review::utc_text(utc_us, utc_decimals);
}

}  // namespace

Json to_json(const ports::Verification& verification, std::int64_t now_utc_us) {
  using State = ports::Verification::State;
  const bool running = verification.state == State::running;
  const bool begun = verification.state != State::never;
  const double running_us =
      static_cast<double>(std::max<std::int64_t>(now_utc_us - verification.started_utc_us, 0));
  return {{"state", name_of(verification.state)},
          {"sound", verification.state == State::done ? Json(verification.sound()) : Json(nullptr)},
          {"asked_by", verification.asked_by},
          {"started_utc", begun ? instant(verification.started_utc_us) : Json(nullptr)},
          {"ended_utc", verification.ended_utc_us ? instant(*verification.ended_utc_us) : Json(nullptr)},
          {"running_s", running ? number(running_us / 1e6) : Json(nullptr)},
          {"part", running ? Json(verification.part) : Json(nullptr)},
          {"part_done", running ? Json(verification.part_done) : Json(nullptr)},
          {"part_of", running ? Json(verification.part_of) : Json(nullptr)},
          {"bytes", verification.bytes},
          {"entries", verification.entries},
          {"traces", verification.traces},
          {"fittings", verification.fittings},
          {"seals", verification.seals},
          {"newest_entry", verification.newest_sequence},
          {"newest_seal", seal_json(verification.newest_seal)},
          {"findings", findings_json(verification.findings)},
          {"notes", verification.notes},
          {"fault", verification.fault}};
}

Json to_json(const ports::DossierProof& proof) {
  return {{"chain_holds", proof.chain_holds},
          {"own_entries_hold", proof.own_entries_hold},
          {"sealed", proof.sealed},
          {"too_long", proof.too_long},
          {"first_entry", proof.first_sequence},
          {"last_entry", proof.last_sequence},
          {"entries", proof.entries},
          {"seal", seal_json(proof.seal)},
          {"findings", findings_json(proof.findings)},
          {"notes", proof.notes}};
}

Json to_json(const review::Asked& asked) {
  Json parts = Json::array();
  for (const auto& part : asked.parts)
    parts.push_back({{"as", part.as}, {"value", part.value}, {"words", part.words}});
  return {{"words", asked.in_words}, {"parts", parts}, {"serial_mistyped", asked.serial_mistyped}};
}

}  // namespace shankwright::hmi
