#include "record/backup_files.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>
#include <vector>

#include "record/parts.hpp"
#include "record/whole_file.hpp"

namespace shankwright::record {
namespace {

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  [[nodiscard]] int number() const { return number_; }

 private:
  int number_;
};

constexpr std::size_t piece = 1U << 20;

// 0 at the end of the file, -1 with errno set.
ssize_t read_piece(int from, std::vector<char>& into) {
  std::size_t done = 0;
  while (done < into.size()) {
    const auto size = ::read(from, into.data() + done, into.size() - done);
    if (size < 0 && errno == EINTR) continue;
    if (size < 0) return -1;
    if (size == 0) break;
    done += static_cast<std::size_t>(size);
  }
  return static_cast<ssize_t>(done);
}

int write_piece(int to, const char* bytes, std::size_t size) {
  while (size > 0) {
    const auto written = ::write(to, bytes, size);
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return errno;
    bytes += written;
    size -= static_cast<std::size_t>(written);
  }
  return 0;
}

bool same_content(const std::filesystem::path& left, const std::filesystem::path& right) {
  const Descriptor one(::open(left.c_str(), O_RDONLY | O_CLOEXEC));
  const Descriptor other(::open(right.c_str(), O_RDONLY | O_CLOEXEC));
  if (one.number() < 0 || other.number() < 0) return false;
  std::vector<char> here(piece), there(piece);
  for (;;) {
    const auto size = read_piece(one.number(), here);
    if (size < 0 || size != read_piece(other.number(), there)) return false;
    if (size == 0) return true;
    if (!std::equal(here.begin(), here.begin() + size, there.begin())) return false;
  }
}

int copy_bytes(int from, int to) {
  std::vector<char> bytes(piece);
  for (;;) {
    const auto size = read_piece(from, bytes);
    if (size < 0) return errno;
    if (size == 0) return ::fsync(to) == 0 ? 0 : errno;
    if (const int error = write_piece(to, bytes.data(), static_cast<std::size_t>(size))) return error;
    if (::fdatasync(to) != 0) return errno;  // never a heap of it at once: the station's disk may be the same
  }
}

}  // namespace

Problem file_problem(const std::filesystem::path& place, int error) {
  if (error == ENOSPC || error == EDQUOT)
    return {place.string(), "no room left on the disk",
            "free space for the whole copy; nothing of it has been kept"};
  return {place.string(), std::strerror(error), "a disk and a folder that this user may write to"};
}

std::optional<Problem> copy_file_whole(const std::filesystem::path& from, const std::filesystem::path& to) {
  const Descriptor source(::open(from.c_str(), O_RDONLY | O_CLOEXEC));
  if (source.number() < 0)
    return Problem{from.string(), std::strerror(errno), "a file that this user may read"};
  const Descriptor target(::open(to.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600));
  if (target.number() < 0) return file_problem(to, errno);
  if (const int error = copy_bytes(source.number(), target.number())) {
    ::unlink(to.c_str());
    return file_problem(to, error);
  }
  return std::nullopt;
}

Result<std::size_t> copy_closed_files(const std::filesystem::path& record_file,
                                      const std::filesystem::path& other_file) {
  const auto from = archive_folder(record_file), to = archive_folder(other_file);
  std::error_code error;
  if (!std::filesystem::is_directory(from, error)) return std::size_t{0};
  if (std::filesystem::equivalent(from, to, error))
    return Problem{other_file.string(), "the folder of the record itself", "a folder on another disk"};
  if (::mkdir(to.c_str(), 0700) != 0 && errno != EEXIST) return file_problem(to, errno);
  std::size_t count = 0;
  for (const auto& item : std::filesystem::directory_iterator(from, error)) {
    if (!item.is_regular_file() || item.path().extension() != ".sqlite3") continue;
    const auto target = to / item.path().filename();
    ++count;
    if (std::filesystem::exists(target)) {
      if (same_content(item.path(), target)) continue;
      return Problem{target.string(), "another file than the record's closed period of that name",
                     "a folder with copies of this record alone"};
    }
    auto part = target;
    part += ".part-" + std::to_string(::getpid());
    if (const auto problem = copy_file_whole(item.path(), part)) return *problem;
    if (const auto problem = name_for_good(part, target)) {
      ::unlink(part.c_str());
      return *problem;
    }
  }
  if (error) return Problem{from.string(), error.message(), "a folder that this user may read"};
  return count;
}

std::optional<Problem> name_for_good(const std::filesystem::path& from, const std::filesystem::path& to) {
  // Some file systems (and some sticks) do not know how to refuse a taken name by themselves.
  int error = ::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0 ? 0 : errno;
  if (error == EINVAL || error == ENOSYS) {
    std::error_code ignored;
    if (std::filesystem::exists(std::filesystem::symlink_status(to, ignored)))
      error = EEXIST;
    else
      error = ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
  }
  if (error == EEXIST)
    return Problem{to.string(), "a file of that name", "a name that is not taken; nothing is overwritten"};
  if (error == 0) error = synchronise_folder(to.parent_path());
  if (error != 0) return file_problem(to, error);
  return std::nullopt;
}

}  // namespace shankwright::record
