#include <sodium.h>

#include <array>
#include <catch2/catch.hpp>
#include <set>

#include "accounts/secrets.hpp"
#include "people/pin.hpp"

using namespace shankwright;

// RFC 9106, section 5.3, gives one Argon2id vector, with a secret and associated data. libsodium's
// crypto_pwhash takes neither, and one lane only (the vector has four), so that vector cannot be computed
// with it and is not checked here. Checked instead: values of another implementation, the reference code of
// the Password Hashing Competition as the Debian package argon2 (0~20171227) builds it.
TEST_CASE("hashes are Argon2id, as the reference implementation computes them") {
  struct Row {
    const char* secret;
    const char* encoded;
  };
  // printf PIN | argon2 SALT -id -t T -k KIB -p 1 -l 32 -e
  const Row rows[] = {
#include "argon2_reference.inc"
  };
  for (const auto& row : rows) {
    INFO(row.encoded);
    CHECK(accounts::matches(row.encoded, row.secret));
    CHECK_FALSE(accounts::matches(row.encoded, std::string(row.secret) + "0"));
    CHECK_FALSE(accounts::matches(row.encoded, ""));
  }
}

TEST_CASE("what is kept says algorithm and cost, never the PIN, and differs each time") {
  const std::string first = accounts::hashed("4711", accounts::Cost{}),
                    second = accounts::hashed("4711", accounts::least_cost());
  CHECK(first.starts_with("$argon2id$v=19$m=65536,t=2,p=1$"));
  CHECK(second.starts_with("$argon2id$v=19$m=8,t=1,p=1$"));
  CHECK(first != accounts::hashed("4711", accounts::Cost{}));
  CHECK(first.find("4711") == std::string::npos);
  CHECK(accounts::matches(first, "4711"));
  CHECK_FALSE(accounts::matches(first, "4712"));
  CHECK_FALSE(accounts::matches("", ""));
  CHECK_FALSE(accounts::matches("4711", "4711"));
}

TEST_CASE("the record keeps BLAKE2b-256 of what is kept") {
  // printf abc | b2sum -l 256 (coreutils 9.1)
  CHECK(accounts::digest_of("abc") == "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319");
}

TEST_CASE("one-time codes are drawn, not counted") {
  std::set<std::string> seen;
  std::array<int, 32> letters{};
  for (int i = 0; i < 2000; ++i) {
    const auto code = accounts::fresh_code();
    REQUIRE(code.size() == people::code_length);
    seen.insert(code);
    for (const char c : code) ++letters.at(people::code_letters.find(c));
  }
  CHECK(seen.size() == 2000);
  for (const int count : letters)
    CHECK((count > 600 && count < 900));  // 750 expected, six times the spread either side
}
