#include "record/seal.hpp"

#include <sodium.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "record/bytes.hpp"
#include "record/hex.hpp"

namespace shankwright::record {
namespace {

using nlohmann::json;

std::string head_message(std::int64_t sequence, const Hash& head) {
  std::string out;
  put_text(out, "shankwright seal 1");
  put_u64(out, static_cast<std::uint64_t>(sequence));
  out.append(head.begin(), head.end());
  return out;
}

std::string successor_message(const PublicKey& successor) {
  std::string out;
  put_text(out, "shankwright seal key 1");
  out.append(successor.begin(), successor.end());
  return out;
}

bool fits(const PublicKey& key, const std::string& message, const Signature& signature) {
  return crypto_sign_verify_detached(signature.data(), reinterpret_cast<const unsigned char*>(message.data()),
                                     message.size(), key.data()) == 0;
}

ports::NewEntry own_entry(std::string_view kind, const char* event, const json& body,
                          std::int64_t at_utc_us) {
  ports::NewEntry entry;
  entry.at_utc_us = at_utc_us;
  entry.kind = kind;
  entry.event = event;
  entry.actor = "station";
  entry.body_json = body.dump();
  return entry;
}

std::optional<Hash> hash_at(const json& body, const char* key) {
  const auto found = body.find(key);
  return found != body.end() && found->is_string() ? from_hex(found->get<std::string>()) : std::nullopt;
}

std::optional<Signature> signature_at(const json& body, const char* key) {
  const auto found = body.find(key);
  return found != body.end() && found->is_string() ? signature_from_hex(found->get<std::string>())
                                                   : std::nullopt;
}

json own_body(const ports::NewEntry& entry) {
  auto body = json::parse(entry.body_json, nullptr, false);
  return body.is_object() ? body : json::object();
}

}  // namespace

SigningKey::SigningKey(const std::array<unsigned char, 32>& seed) {
  if (sodium_init() < 0) throw std::runtime_error("libsodium does not start");
  static_assert(sizeof(seed) == crypto_sign_SEEDBYTES && sizeof(public_) == crypto_sign_PUBLICKEYBYTES &&
                sizeof(secret_) == crypto_sign_SECRETKEYBYTES && sizeof(Signature) == crypto_sign_BYTES);
  crypto_sign_seed_keypair(public_.data(), secret_.data(), seed.data());
}

SigningKey::~SigningKey() {
  sodium_memzero(secret_.data(), secret_.size());
}

Signature SigningKey::sign(std::string_view message) const {
  Signature out{};
  crypto_sign_detached(out.data(), nullptr, reinterpret_cast<const unsigned char*>(message.data()),
                       message.size(), secret_.data());
  return out;
}

Signature SigningKey::sign_head(std::int64_t sequence, const Hash& head) const {
  return sign(head_message(sequence, head));
}

Signature SigningKey::sign_successor(const PublicKey& successor) const {
  return sign(successor_message(successor));
}

bool head_signature_fits(const PublicKey& key, std::int64_t sequence, const Hash& head,
                         const Signature& signature) {
  return fits(key, head_message(sequence, head), signature);
}

bool successor_signature_fits(const PublicKey& key, const PublicKey& successor, const Signature& signature) {
  return fits(key, successor_message(successor), signature);
}

std::string hex(const Signature& signature) {
  return digits_of(signature);
}

std::optional<Signature> signature_from_hex(std::string_view digits) {
  return bytes_of_digits<std::tuple_size_v<Signature>>(digits);
}

ports::NewEntry key_made(const PublicKey& key, std::int64_t at_utc_us) {
  return own_entry(seal_key_kind, "made", {{"public_key", hex(key)}}, at_utc_us);
}

ports::NewEntry key_rotated(const SigningKey& new_key, const SigningKey* old_key, const PublicKey& old_public,
                            const std::string& reason, const std::string& actor, std::int64_t at_utc_us) {
  json body{
      {"public_key", hex(new_key.public_key())}, {"old_public_key", hex(old_public)}, {"reason", reason}};
  body["signed_by_old_key"] =
      old_key == nullptr ? json(nullptr) : json(hex(old_key->sign_successor(new_key.public_key())));
  auto entry = own_entry(seal_key_kind, "rotated", body, at_utc_us);
  entry.actor = actor;
  return entry;
}

ports::NewEntry seal_entry(const SigningKey& key, std::int64_t sequence, const Hash& head,
                           const std::string& why, std::int64_t at_utc_us) {
  return own_entry(seal_kind, "sealed",
                   {{"sequence", sequence},
                    {"head", hex(head)},
                    {"public_key", hex(key.public_key())},
                    {"signature", hex(key.sign_head(sequence, head))},
                    {"why", why}},
                   at_utc_us);
}

Result<ports::Seal> read_seal(const ports::NewEntry& entry) {
  const auto body = own_body(entry);
  const auto head = hash_at(body, "head"), key = hash_at(body, "public_key");
  const auto signature = signature_at(body, "signature");
  const auto sequence = body.find("sequence"), why = body.find("why");
  if (entry.kind != seal_kind || !head || !key || !signature || sequence == body.end() ||
      !sequence->is_number_integer() || why == body.end() || !why->is_string())
    return Problem{"seal", "an entry that does not read as a seal", "the seal as the station wrote it"};
  return ports::Seal{sequence->get<std::int64_t>(),
                     entry.at_utc_us,
                     why->get<std::string>(),
                     hex(*head),
                     hex(*key),
                     hex(*signature)};
}

Result<KeyChange> read_key_change(const ports::NewEntry& entry) {
  const Problem wrong{"seal key", "an entry that does not read as a seal key",
                      "the entry as the station wrote it"};
  const auto body = own_body(entry);
  const auto key = hash_at(body, "public_key");
  if (entry.kind != seal_key_kind || !key) return wrong;
  KeyChange out;
  out.key = *key;
  if (entry.event != "rotated") return out;
  out.before = hash_at(body, "old_public_key");
  if (!out.before) return wrong;
  const auto signature = body.find("signed_by_old_key");
  if (signature == body.end()) return wrong;
  if (!signature->is_null()) {
    out.signed_by_before = signature_at(body, "signed_by_old_key");
    if (!out.signed_by_before) return wrong;
  }
  return out;
}

}  // namespace shankwright::record
