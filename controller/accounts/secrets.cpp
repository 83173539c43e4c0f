#include "accounts/secrets.hpp"

#include <sodium.h>

#include <array>
#include <stdexcept>

#include "people/pin.hpp"

namespace shankwright::accounts {
namespace {

void ready() {
  if (::sodium_init() < 0) throw std::runtime_error("libsodium cannot be used on this machine");
}

}  // namespace

static_assert(crypto_pwhash_OPSLIMIT_INTERACTIVE == 2 &&
              crypto_pwhash_MEMLIMIT_INTERACTIVE == 64ULL * 1024 * 1024);

Cost least_cost() {
  return {crypto_pwhash_OPSLIMIT_MIN, crypto_pwhash_MEMLIMIT_MIN};
}

std::string hashed(const std::string& secret, const Cost& cost) {
  ready();
  std::array<char, crypto_pwhash_STRBYTES> out{};
  if (::crypto_pwhash_str_alg(out.data(), secret.data(), secret.size(), cost.operations, cost.memory_bytes,
                              crypto_pwhash_ALG_ARGON2ID13) != 0)
    throw std::runtime_error("no memory to hash a PIN");
  return out.data();
}

bool matches(const std::string& encoded, const std::string& secret) {
  ready();
  return ::crypto_pwhash_str_verify(encoded.c_str(), secret.data(), secret.size()) == 0;
}

std::string digest_of(const std::string& encoded) {
  ready();
  std::array<unsigned char, 32> hash{};
  ::crypto_generichash(hash.data(), hash.size(), reinterpret_cast<const unsigned char*>(encoded.data()),
                       encoded.size(), nullptr, 0);
  std::array<char, 65> hex{};
  return ::sodium_bin2hex(hex.data(), hex.size(), hash.data(), hash.size());
}

std::string fresh_code() {
  ready();
  std::string out;
  for (std::size_t i = 0; i < people::code_length; ++i)
    out +=
        people::code_letters[::randombytes_uniform(static_cast<std::uint32_t>(people::code_letters.size()))];
  return out;
}

}  // namespace shankwright::accounts
