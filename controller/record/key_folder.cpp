#include "record/key_folder.hpp"

#include <sodium.h>
#include <sys/stat.h>

#include <cerrno>
#include <cstring>

#include "record/whole_file.hpp"

namespace shankwright::record {
namespace {

constexpr auto secret_ending = ".secret";
constexpr auto public_ending = ".public";
constexpr std::size_t key_file_most = 1000;

std::filesystem::path file_of(const std::filesystem::path& data_folder, const PublicKey& key,
                              const char* ending) {
  return keys_folder(data_folder) / (hex(key).substr(0, 16) + ending);
}

std::string first_word(const std::string& text) {
  const auto begin = text.find_first_not_of(" \t\r\n");
  if (begin == std::string::npos) return "";
  return text.substr(begin, text.find_first_of(" \t\r\n", begin) - begin);
}

std::optional<Problem> make_folder(const std::filesystem::path& folder) {
  if (::mkdir(folder.c_str(), 0700) == 0 || errno == EEXIST) return std::nullopt;
  return Problem{folder.string(), std::strerror(errno), "a folder for keys that this user may make"};
}

std::optional<Problem> open_to_others(const std::filesystem::path& file) {
  struct ::stat found {};
  if (::stat(file.c_str(), &found) != 0)
    return Problem{file.string(), std::strerror(errno),
                   "the secret half of the record's signing key; where it is lost for good, make a new one: "
                   "shankwright record rotate-key --old-key-lost"};
  if ((found.st_mode & 077) != 0)
    return Problem{
        file.string(), "a secret that others than its owner may read",
        "permissions 0600, and a new key if somebody may have copied it: shankwright record rotate-key"};
  return std::nullopt;
}

}  // namespace

std::filesystem::path keys_folder(const std::filesystem::path& data_folder) {
  return data_folder / "keys";
}

Result<std::shared_ptr<SigningKey>> make_key(const std::filesystem::path& data_folder) {
  const auto folder = keys_folder(data_folder);
  if (const auto problem = make_folder(folder)) return *problem;
  if (const int error = synchronise_folder(data_folder))
    return Problem{data_folder.string(), std::strerror(error), "a disk that keeps what it is told"};
  if (sodium_init() < 0) throw std::runtime_error("libsodium does not start");
  Hash seed{};
  randombytes_buf(seed.data(), seed.size());
  auto key = std::make_shared<SigningKey>(seed);
  auto digits = hex(seed) + "\n";
  auto problem = write_whole_file(file_of(data_folder, key->public_key(), secret_ending), digits, 0600);
  sodium_memzero(digits.data(), digits.size());
  sodium_memzero(seed.data(), seed.size());
  if (!problem)
    problem = write_whole_file(file_of(data_folder, key->public_key(), public_ending),
                               hex(key->public_key()) + "\n", 0644);
  if (problem) return *problem;
  return key;
}

Result<std::shared_ptr<SigningKey>> load_key(const std::filesystem::path& data_folder, const PublicKey& key) {
  const auto file = file_of(data_folder, key, secret_ending);
  if (const auto problem = open_to_others(file)) return *problem;
  auto text = read_small_file(file, key_file_most);
  if (!text) return text.problem();
  const auto seed = from_hex(first_word(text.value()));
  auto loaded = seed ? std::make_shared<SigningKey>(*seed) : nullptr;
  if (!loaded || loaded->public_key() != key)
    return Problem{file.string(), "a file that does not hold this key", "the secret half of " + hex(key)};
  return loaded;
}

std::optional<Problem> drop_other_secrets(const std::filesystem::path& data_folder, const PublicKey& key) {
  std::error_code error;
  const auto kept = file_of(data_folder, key, secret_ending);
  for (const auto& entry : std::filesystem::directory_iterator(keys_folder(data_folder), error)) {
    if (entry.path().extension() != secret_ending || entry.path() == kept) continue;
    if (!std::filesystem::remove(entry.path(), error) && error)
      return Problem{entry.path().string(), error.message(), "a secret that can be taken away"};
  }
  return std::nullopt;
}

Result<PublicKey> read_public_key(const std::string& digits_or_file) {
  if (const auto key = from_hex(digits_or_file)) return *key;
  const auto text = read_small_file(digits_or_file, key_file_most);
  if (!text)
    return Problem{digits_or_file, text.problem().found,
                   "a public key: 64 hexadecimal digits, or a file that begins with them"};
  const auto key = from_hex(first_word(text.value()));
  if (!key)
    return Problem{digits_or_file, "a file that does not begin with a public key", "64 hexadecimal digits"};
  return *key;
}

}  // namespace shankwright::record
