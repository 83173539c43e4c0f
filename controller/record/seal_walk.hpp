#pragma once
#include <optional>
#include <string>
#include <vector>

#include "record/integrity.hpp"
#include "record/seal.hpp"

namespace shankwright::record {

/// Follows keys and seals along the chain, entry by entry.
class SealWalk {
 public:
  /// What is wrong with a seal or a change of key; nothing for any other entry.
  [[nodiscard]] std::optional<std::string> look_at(const WalkedEntry& entry);

  struct Unvouched {
    std::int64_t sequence = 0;
    PublicKey before{};
  };
  [[nodiscard]] const std::vector<PublicKey>& keys() const { return keys_; }
  [[nodiscard]] const std::vector<Unvouched>& changes_without_old_key() const { return unvouched_; }
  [[nodiscard]] const std::optional<ports::Seal>& newest() const { return newest_; }
  [[nodiscard]] std::int64_t seals() const { return seals_; }

 private:
  std::optional<std::string> look_at_key(const ports::NewEntry& entry, std::int64_t sequence);
  std::optional<std::string> look_at_seal(const ports::NewEntry& entry, const WalkedEntry& walked);

  std::vector<PublicKey> keys_;
  std::vector<Unvouched> unvouched_;
  std::optional<ports::Seal> newest_;
  std::int64_t seals_ = 0;
  bool begun_inside_ = false;  ///< a single closed file: its first seal names a key from an earlier file
};

}  // namespace shankwright::record
