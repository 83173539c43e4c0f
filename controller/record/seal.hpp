#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "record/chain.hpp"

/// Seals: Ed25519 signatures (RFC 8032) over the chain's head. Who has the public key and one sealed head
/// from elsewhere (a certificate, a file on another disk) can show that the record before it is what it was.
///
/// What is signed is
///   text   "shankwright seal 1"
///   u64    sequence of the newest entry covered
///   32     its hash, which stands for every entry before
/// in the form of chain.hpp. When a key is replaced the old one signs
///   text   "shankwright seal key 1"
///   32     the new public key
/// so that who holds an old public key can follow the line to the newest.
namespace shankwright::record {

using PublicKey = std::array<unsigned char, 32>;
using Signature = std::array<unsigned char, 64>;

/// An Ed25519 key pair made from its 32-byte seed; the secret half is wiped at the end.
class SigningKey {
 public:
  explicit SigningKey(const std::array<unsigned char, 32>& seed);
  ~SigningKey();
  SigningKey(const SigningKey&) = delete;
  SigningKey& operator=(const SigningKey&) = delete;

  [[nodiscard]] const PublicKey& public_key() const { return public_; }
  [[nodiscard]] Signature sign_head(std::int64_t sequence, const Hash& head) const;
  [[nodiscard]] Signature sign_successor(const PublicKey& successor) const;

 private:
  [[nodiscard]] Signature sign(std::string_view message) const;
  PublicKey public_{};
  std::array<unsigned char, 64> secret_{};
};

[[nodiscard]] bool head_signature_fits(const PublicKey& key, std::int64_t sequence, const Hash& head,
                                       const Signature& signature);
[[nodiscard]] bool successor_signature_fits(const PublicKey& key, const PublicKey& successor,
                                            const Signature& signature);

[[nodiscard]] std::string hex(const Signature& signature);
[[nodiscard]] std::optional<Signature> signature_from_hex(std::string_view digits);

/// The kinds of entry that this folder alone may append.
inline constexpr std::string_view seal_kind = "seal";          ///< event "sealed"
inline constexpr std::string_view seal_key_kind = "seal_key";  ///< events "made", "rotated"

/// The entry that says which key seals from now on.
[[nodiscard]] ports::NewEntry key_made(const PublicKey& key, std::int64_t at_utc_us);
/// The same for a new key. Where the old one is lost nobody can sign for the new: `old_key` is null then and
/// whoever verifies is told so.
[[nodiscard]] ports::NewEntry key_rotated(const SigningKey& new_key, const SigningKey* old_key,
                                          const PublicKey& old_public, const std::string& reason,
                                          const std::string& actor, std::int64_t at_utc_us);
/// The entry that carries the seal over the entry before it.
[[nodiscard]] ports::NewEntry seal_entry(const SigningKey& key, std::int64_t sequence, const Hash& head,
                                         const std::string& why, std::int64_t at_utc_us);

/// What a seal entry says; a Problem where it does not read as one. The signature is not looked at.
[[nodiscard]] Result<ports::Seal> read_seal(const ports::NewEntry& entry);

/// What a seal_key entry says.
struct KeyChange {
  PublicKey key{};
  std::optional<PublicKey> before;            ///< "rotated" only
  std::optional<Signature> signed_by_before;  ///< nothing when the old key was lost
};
[[nodiscard]] Result<KeyChange> read_key_change(const ports::NewEntry& entry);

}  // namespace shankwright::record
