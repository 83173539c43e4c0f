#pragma once
#include <filesystem>
#include <memory>
#include <vector>

#include "quantity/result.hpp"
#include "record/seal.hpp"

/// The signing keys of one station, in DATA/keys (0700): one file per key, named after its public half.
///   <first 16 digits>.secret   the seed, 64 digits (0600)
///   <first 16 digits>.public   the public key, 64 digits: what a verifier needs, to be kept elsewhere too
/// A key's files are on the disk before the record names it; a secret that the record does not name is no
/// evidence of anything and may be used by the next attempt.
namespace shankwright::record {

[[nodiscard]] std::filesystem::path keys_folder(const std::filesystem::path& data_folder);

/// Draws a new key from the system's randomness and keeps it.
[[nodiscard]] Result<std::shared_ptr<SigningKey>> make_key(const std::filesystem::path& data_folder);

/// The secret key of that public half. Problem when its file is missing, can be read by others than its
/// owner, or does not hold that key.
[[nodiscard]] Result<std::shared_ptr<SigningKey>> load_key(const std::filesystem::path& data_folder,
                                                           const PublicKey& key);

/// Keeps nothing but the named key's secret: a replaced one must not sign again. Public halves stay.
[[nodiscard]] std::optional<Problem> drop_other_secrets(const std::filesystem::path& data_folder,
                                                        const PublicKey& key);

/// A public key as typed, or as the first word of a file of that name.
[[nodiscard]] Result<PublicKey> read_public_key(const std::string& digits_or_file);

}  // namespace shankwright::record
