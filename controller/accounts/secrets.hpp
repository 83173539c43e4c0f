#pragma once
#include <cstddef>
#include <string>

/// Hashing of PINs and one-time codes: Argon2id (RFC 9106) by libsodium's crypto_pwhash_str.
namespace shankwright::accounts {

/// What one hash costs. Tests may take less than the program does.
struct Cost {
  unsigned long long operations = 2;               ///< passes over the memory
  std::size_t memory_bytes = 64ULL * 1024 * 1024;  ///< libsodium's interactive limits, as `operations`
};
/// The least that libsodium takes: for tests alone.
[[nodiscard]] Cost least_cost();

/// "$argon2id$v=19$m=65536,t=2,p=1$SALT$HASH": carries its salt and cost. Throws std::runtime_error when
/// there is no memory for it.
[[nodiscard]] std::string hashed(const std::string& secret, const Cost& cost);
/// In time that depends on the encoded cost alone.
[[nodiscard]] bool matches(const std::string& encoded, const std::string& secret);
/// BLAKE2b-256 (RFC 7693) of an encoded hash, 64 hexadecimal digits: what the record keeps of it.
[[nodiscard]] std::string digest_of(const std::string& encoded);
/// A one-time code (people/pin.hpp), without hyphens, from the kernel's random numbers.
[[nodiscard]] std::string fresh_code();

}  // namespace shankwright::accounts
