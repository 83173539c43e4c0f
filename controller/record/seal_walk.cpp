#include "record/seal_walk.hpp"

namespace shankwright::record {
namespace {

ports::NewEntry own_entry(const HashedFields& fields) {
  ports::NewEntry entry;
  entry.at_utc_us = fields.at_utc_us;
  entry.kind = fields.kind;
  entry.event = fields.event;
  entry.body_json = fields.body_json;
  return entry;
}

}  // namespace

std::optional<std::string> SealWalk::look_at(const WalkedEntry& entry) {
  if (entry.fields.kind == seal_key_kind) return look_at_key(own_entry(entry.fields), entry.fields.sequence);
  if (entry.fields.kind == seal_kind) return look_at_seal(own_entry(entry.fields), entry);
  if (entry.fields.kind == "archive") begun_inside_ = true;
  return std::nullopt;
}

std::optional<std::string> SealWalk::look_at_key(const ports::NewEntry& entry, std::int64_t sequence) {
  const auto change = read_key_change(entry);
  if (!change) return "it does not read as a signing key";
  const auto& [key, before, signature] = change.value();
  if (!before && !keys_.empty()) return "it makes a first signing key where there is one already";
  if (before && keys_.empty() && begun_inside_) keys_.push_back(*before);
  if (before && (keys_.empty() || keys_.back() != *before))
    return "it replaces a signing key that was not in use";
  if (before && signature && !successor_signature_fits(*before, key, *signature))
    return "the old key's signature under the new key does not fit";
  if (before && !signature) unvouched_.push_back({sequence, *before});
  keys_.push_back(key);
  return std::nullopt;
}

std::optional<std::string> SealWalk::look_at_seal(const ports::NewEntry& entry, const WalkedEntry& walked) {
  const auto read = read_seal(entry);
  if (!read) return "it does not read as a seal";
  const auto& seal = read.value();
  const auto key = from_hex(seal.public_key_hex).value();
  if (keys_.empty() && begun_inside_) keys_.push_back(key);
  if (keys_.empty() || keys_.back() != key) return "it is sealed with a key that was not in use";
  if (seal.sequence != walked.fields.sequence - 1 || seal.head_hex != hex(walked.previous))
    return "its seal is over something else than the entry before it";
  if (!head_signature_fits(key, seal.sequence, walked.previous,
                           signature_from_hex(seal.signature_hex).value()))
    return "its signature does not fit";
  newest_ = seal;
  ++seals_;
  return std::nullopt;
}

}  // namespace shankwright::record
