#include "record/whole_file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace shankwright::record {
namespace {

Problem refused(const std::filesystem::path& place, int error, const char* expected) {
  return {place.string(), std::strerror(error), expected};
}

int write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const auto written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return errno;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return ::fsync(descriptor) == 0 ? 0 : errno;
}

}  // namespace

int synchronise_folder(const std::filesystem::path& folder) {
  // A bare file name has no folder in it: it lies where the process stands.
  const auto* const name = folder.empty() ? "." : folder.c_str();
  const int descriptor = ::open(name, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return errno;
  const int error = ::fsync(descriptor) == 0 ? 0 : errno;
  ::close(descriptor);
  return error;
}

std::optional<Problem> write_whole_file(const std::filesystem::path& file, std::string_view text,
                                        ::mode_t mode) {
  constexpr auto expected = "a disk with room and a folder that this user may write to";
  auto part = file;
  part += ".part";
  ::unlink(part.c_str());  // left over by a process that was killed
  const int descriptor = ::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode);
  if (descriptor < 0) return refused(part, errno, expected);
  const int error = write_all(descriptor, text);
  ::close(descriptor);
  if (error == 0 && ::rename(part.c_str(), file.c_str()) == 0) {
    if (const int failed = synchronise_folder(file.parent_path())) return refused(file, failed, expected);
    return std::nullopt;
  }
  const int failed = error != 0 ? error : errno;
  ::unlink(part.c_str());
  return refused(file, failed, expected);
}

Result<std::string> read_small_file(const std::filesystem::path& file, std::size_t most_bytes) {
  const int descriptor = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return refused(file, errno, "a file that this user may read");
  std::string out;
  std::array<char, 4096> buffer{};
  ssize_t size = 0;
  while (out.size() <= most_bytes && (size = ::read(descriptor, buffer.data(), buffer.size())) > 0)
    out.append(buffer.data(), static_cast<std::size_t>(size));
  const int error = size < 0 ? errno : 0;
  ::close(descriptor);
  if (error != 0) return refused(file, error, "a file that can be read");
  if (out.size() > most_bytes)
    return Problem{file.string(), "more than " + std::to_string(most_bytes) + " bytes", "a small file"};
  return out;
}

}  // namespace shankwright::record
