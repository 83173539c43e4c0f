// Goal: hash and signature are those of the standards, so that any other program can check a record.
// Sources: RFC 7693 (BLAKE2), appendices A and E; RFC 8032 (Ed25519), 7.1. Values from memory; those of RFC
// 7693 repeated with Python's hashlib, which shares no code with libsodium.
#include <catch2/catch.hpp>

#include <sodium.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "record/bytes.hpp"
#include "record/chain.hpp"
#include "record/seal.hpp"

using namespace shankwright;

namespace {

std::string hex_of(const std::string& bytes) {
  std::string out(bytes.size() * 2 + 1, '\0');
  sodium_bin2hex(out.data(), out.size(), reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
  out.pop_back();
  return out;
}

std::string from_digits(const std::string& digits) {
  std::string out(digits.size() / 2, '\0');
  std::size_t size = 0;
  REQUIRE(sodium_hex2bin(reinterpret_cast<unsigned char*>(out.data()), out.size(), digits.data(),
                         digits.size(), nullptr, &size, nullptr) == 0);
  REQUIRE(size == out.size());
  return out;
}

const unsigned char* raw(const std::string& bytes) {
  return reinterpret_cast<const unsigned char*>(bytes.data());
}

std::string blake2b(std::size_t size, const std::string& key, const std::string& text) {
  std::string out(size, '\0');
  REQUIRE(crypto_generichash(reinterpret_cast<unsigned char*>(out.data()), size, raw(text), text.size(),
                             key.empty() ? nullptr : raw(key), key.size()) == 0);
  return out;
}

// RFC 7693, appendix E: "Fill the buffer with a deterministic sequence".
std::string sequence(std::size_t size, std::uint32_t seed) {
  std::uint32_t a = 0xDEAD4BADU * seed, b = 1;
  std::string out;
  for (std::size_t index = 0; index < size; ++index) {
    const std::uint32_t t = a + b;
    a = b;
    b = t;
    out += static_cast<char>(t >> 24 & 0xff);
  }
  return out;
}

}  // namespace

TEST_CASE("BLAKE2b gives the values of RFC 7693") {
  // Appendix A: BLAKE2b-512 of "abc".
  CHECK(hex_of(blake2b(64, "", "abc")) ==
        "ba80a53f981c4d0d6a2797b69f12f6e94c212f14685ac4b74b12bb6fdbffa2d1"
        "7d87c5392aab792dc252d5de4533cc9518d38aa8dbf1925ab92386edd4009923");
  // Appendix E: the hash, by the function that the chain uses, over hashes of many sizes.
  std::string all;
  for (const std::size_t size : {20U, 32U, 48U, 64U})
    for (const std::size_t length : {0U, 3U, 128U, 129U, 255U, 1024U}) {
      const auto text = sequence(length, static_cast<std::uint32_t>(length));
      all += blake2b(size, "", text);
      all += blake2b(size, sequence(size, static_cast<std::uint32_t>(size)), text);
    }
  CHECK(record::hex(record::hash_of(all)) ==
        "c23a7800d98123bd10f506c61e29da5603d763b8bbad2e737f5e765a7bccd475");
}

TEST_CASE("Ed25519 gives the values of RFC 8032, and a seal is signed with it") {
  struct Vector {
    std::string seed, public_key, message, signature;
  };
  // 7.1, TEST 1 to 3
  for (const auto& vector :
       std::vector<Vector>{{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
                            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
                            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bac"
                            "c61e39701cf9b46bd25bf5f0"
                            "595bbe24655141438e7a100b"},
                           {"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
                            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
                            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e"
                            "458f3613d0f11d8c387b2eae"
                            "b4302aeeb00d291612bb0c00"},
                           {"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
                            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
                            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290"
                            "ae67f760984dc6594a7c15e9"
                            "716ed28dc027beceea1ec40a"}}) {
    INFO("seed " << vector.seed);
    std::array<unsigned char, 32> seed{};
    const auto bytes = from_digits(vector.seed);
    std::copy(bytes.begin(), bytes.end(), seed.begin());
    const record::SigningKey key(seed);
    const std::string public_key(key.public_key().begin(), key.public_key().end());
    CHECK(hex_of(public_key) == vector.public_key);

    std::array<unsigned char, crypto_sign_PUBLICKEYBYTES> made{};
    std::array<unsigned char, crypto_sign_SECRETKEYBYTES> secret{};
    REQUIRE(crypto_sign_seed_keypair(made.data(), secret.data(), seed.data()) == 0);
    const auto sign = [&](const std::string& text) {
      std::string out(crypto_sign_BYTES, '\0');
      REQUIRE(crypto_sign_detached(reinterpret_cast<unsigned char*>(out.data()), nullptr, raw(text),
                                   text.size(), secret.data()) == 0);
      return hex_of(out);
    };
    CHECK(sign(from_digits(vector.message)) == vector.signature);

    // The seal's message put together by hand from seal.hpp: text, u64, the hash's 32 bytes.
    record::Hash head;
    head.fill(7);
    std::string message;
    record::put_text(message, "shankwright seal 1");
    record::put_u64(message, 41);
    message.append(head.begin(), head.end());
    CHECK(record::hex(key.sign_head(41, head)) == sign(message));
  }
}
