#include "record/chain.hpp"

#include <sodium.h>

#include <algorithm>
#include <stdexcept>

#include "record/bytes.hpp"
#include "record/hex.hpp"

namespace shankwright::record {

Hash hash_of(std::string_view bytes) {
  static const bool ready = sodium_init() >= 0;
  if (!ready) throw std::runtime_error("libsodium does not start");
  Hash out{};
  static_assert(sizeof(out) == crypto_generichash_BYTES);
  crypto_generichash(out.data(), out.size(), reinterpret_cast<const unsigned char*>(bytes.data()),
                     bytes.size(), nullptr, 0);
  return out;
}

std::string hex(const Hash& hash) {
  return digits_of(hash);
}

std::optional<Hash> from_hex(std::string_view digits) {
  return bytes_of_digits<std::tuple_size_v<Hash>>(digits);
}

std::string_view bytes_of(const Hash& hash) {
  return {reinterpret_cast<const char*>(hash.data()), hash.size()};
}

std::optional<Hash> as_hash(std::string_view bytes) {
  Hash out{};
  if (bytes.size() != out.size()) return std::nullopt;
  std::copy(bytes.begin(), bytes.end(), out.begin());
  return out;
}

Hash entry_hash(const Hash& previous, const HashedFields& fields) {
  std::string bytes;
  return entry_hash(previous, fields, bytes);
}

Hash entry_hash(const Hash& previous, const HashedFields& fields, std::string& bytes) {
  bytes.clear();
  put_text(bytes, "shankwright entry 1");
  bytes.append(previous.begin(), previous.end());
  put_u64(bytes, static_cast<std::uint64_t>(fields.sequence));
  put_u64(bytes, static_cast<std::uint64_t>(fields.at_utc_us));
  for (const auto text : {fields.serial, fields.kind, fields.event, fields.actor, fields.body_json,
                          fields.state_json, fields.stage, fields.opening_json, fields.trace_hash})
    put_text(bytes, text);
  return hash_of(bytes);
}

}  // namespace shankwright::record
