#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// The hash chain over the entries. Each entry's hash covers all its fields and the hash of the entry before,
/// so that no entry can be changed, taken out or put in without every later hash changing too. What the chain
/// alone cannot show is that its end was cut off, or that somebody wrote the whole chain anew: that takes a
/// seal kept elsewhere over the newest hash.
///
/// hash = BLAKE2b-256 (RFC 7693, no key) of
///   text   "shankwright entry 1"
///   32     hash of the entry before; 32 zero bytes for the first
///   u64    sequence
///   u64    at_utc_us (two's complement)
///   text   serial, kind, event, actor, body_json, state_json, stage, opening_json
///   text   hash of the trace: BLAKE2b-256 of the trace's bytes as stored (trace_codec.hpp); empty without a
///   trace
/// where u64 is little-endian, and text is its length in bytes as u64 and then its bytes.
namespace shankwright::record {

using Hash = std::array<unsigned char, 32>;

[[nodiscard]] Hash hash_of(std::string_view bytes);
[[nodiscard]] std::string hex(const Hash& hash);
[[nodiscard]] std::optional<Hash> from_hex(
    std::string_view digits);  ///< nothing unless it is 64 hexadecimal digits

[[nodiscard]] std::string_view bytes_of(const Hash& hash);          ///< looks at the hash, copies nothing
[[nodiscard]] std::optional<Hash> as_hash(std::string_view bytes);  ///< nothing unless it is 32 bytes

/// An entry with everything its hash covers. The texts are looked at during the call only.
struct HashedFields {
  std::int64_t sequence = 0;
  std::int64_t at_utc_us = 0;
  std::string_view serial, kind, event, actor, body_json, state_json, stage;
  std::string_view
      opening_json;             ///< the first entry of a fitting only: what the index says of it (index.hpp)
  std::string_view trace_hash;  ///< 32 bytes, or empty
};

[[nodiscard]] Hash entry_hash(const Hash& previous, const HashedFields& fields);
/// The same, with room of the caller's for the hashed bytes: for walks over many entries.
[[nodiscard]] Hash entry_hash(const Hash& previous, const HashedFields& fields, std::string& room);

}  // namespace shankwright::record
