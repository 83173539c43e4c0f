#pragma once
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "quantity/result.hpp"

/// The encoded hashes of PINs and one-time codes: credentials.json in the data folder, readable by its owner
/// alone. They are not in the record, which is copied and shown; what the record keeps of each is its digest.
namespace shankwright::accounts {

struct Credentials {
  /// While one PIN takes the place of another both are here, and the record says which counts.
  struct Of {
    std::vector<std::string> pins, codes;
    bool operator==(const Of&) const = default;
  };
  std::map<std::string, Of> people;  ///< by id
  bool operator==(const Credentials&) const = default;
};

[[nodiscard]] std::filesystem::path credentials_file(const std::filesystem::path& folder);

struct CredentialsRead {
  Credentials credentials;           ///< empty when there is no file, or one that cannot be read
  std::vector<std::string> notices;  ///< sentences: unreadable, or open to others (and closed now)
};
[[nodiscard]] CredentialsRead read_credentials(const std::filesystem::path& folder);

/// Whole or not at all, and on the disk when it returns: a new file (0600) beside it, synchronised, takes its
/// name.
[[nodiscard]] std::optional<Problem> write_credentials(const std::filesystem::path& folder,
                                                       const Credentials& credentials);

}  // namespace shankwright::accounts
