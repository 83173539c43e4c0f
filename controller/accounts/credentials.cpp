#include "accounts/credentials.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>

namespace shankwright::accounts {
namespace {

using Json = nlohmann::ordered_json;
constexpr auto format = "shankwright credentials 1";
constexpr std::size_t bytes_most = std::size_t{8} * 1024 * 1024;

/// A file descriptor, closed at the end.
class Descriptor {
 public:
  explicit Descriptor(int descriptor) : descriptor_(descriptor) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  [[nodiscard]] int get() const { return descriptor_; }

 private:
  int descriptor_;
};

Problem refused(const std::filesystem::path& place, const char* expected) {
  return {place.string(), std::strerror(errno), expected};
}

bool write_all(int descriptor, const std::string& text) {
  for (std::size_t done = 0; done < text.size();) {
    const ssize_t wrote = ::write(descriptor, text.data() + done, text.size() - done);
    if (wrote < 0 && errno == EINTR) continue;
    if (wrote <= 0) return false;
    done += static_cast<std::size_t>(wrote);
  }
  return true;
}

std::optional<std::string> read_all(int descriptor) {
  std::string text;
  char piece[4096];
  for (;;) {
    const ssize_t got = ::read(descriptor, piece, sizeof piece);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0 || text.size() > bytes_most) return std::nullopt;
    if (got == 0) return text;
    text.append(piece, static_cast<std::size_t>(got));
  }
}

std::vector<std::string> texts(const Json& of, const char* key) {
  std::vector<std::string> out;
  if (!of.is_object() || !of.contains(key) || !of[key].is_array()) return out;
  for (const auto& one : of[key])
    if (one.is_string()) out.push_back(one.get<std::string>());
  return out;
}

}  // namespace

std::filesystem::path credentials_file(const std::filesystem::path& folder) {
  return folder / "credentials.json";
}

CredentialsRead read_credentials(const std::filesystem::path& folder) {
  CredentialsRead out;
  const auto file = credentials_file(folder);
  const Descriptor opened(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
  const auto unreadable = [&](const std::string& why) {
    out.notices.push_back(
        fmt::format("{} cannot be read ({}): no PIN counts until it is set anew.", file.string(), why));
    return out;
  };
  if (opened.get() < 0) return errno == ENOENT ? out : unreadable(std::strerror(errno));
  struct stat about {};
  if (::fstat(opened.get(), &about) == 0 && (about.st_mode & 077U) != 0) {
    const bool closed = ::fchmod(opened.get(), 0600) == 0;
    out.notices.push_back(
        fmt::format("{} was open to other users of this machine{}. Whoever copied it can try PINs at "
                    "leisure: have them set anew.",
                    file.string(), closed ? "; it is closed to them now" : ""));
  }
  const auto text = read_all(opened.get());
  if (!text) return unreadable("it is too long, or the disk fails");
  const Json json = Json::parse(*text, nullptr, false);
  if (!json.is_object() || json.value("format", Json()) != format || !json.contains("people") ||
      !json["people"].is_object())
    return unreadable("it is not in the form this program writes");
  for (const auto& [id, of] : json["people"].items())
    out.credentials.people[id] = {texts(of, "pins"), texts(of, "codes")};
  return out;
}

std::optional<Problem> write_credentials(const std::filesystem::path& folder,
                                         const Credentials& credentials) {
  constexpr auto expected = "a data folder that this user may write to, with free space";
  Json people = Json::object();
  for (const auto& [id, of] : credentials.people)
    if (!of.pins.empty() || !of.codes.empty()) people[id] = {{"pins", of.pins}, {"codes", of.codes}};
  const std::string text = Json{{"format", format}, {"people", std::move(people)}}.dump(2) + "\n";

  const auto file = credentials_file(folder), fresh = folder / "credentials.json.new";
  ::unlink(fresh.c_str());  // left by a process that died while writing
  {
    const Descriptor opened(
        ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600));
    if (opened.get() < 0) return refused(fresh, expected);
    if (!write_all(opened.get(), text) || ::fsync(opened.get()) != 0) {
      const auto problem = refused(fresh, expected);
      ::unlink(fresh.c_str());
      return problem;
    }
  }
  if (::rename(fresh.c_str(), file.c_str()) != 0) return refused(file, expected);
  const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (opened.get() < 0 || ::fsync(opened.get()) != 0) return refused(folder, expected);
  return std::nullopt;
}

}  // namespace shankwright::accounts
