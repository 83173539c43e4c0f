#include "record/data_folder.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <string>

#include "record/whole_file.hpp"

namespace shankwright::record {
namespace {

Problem refused(const std::filesystem::path& place, int error, const char* expected) {
  return {place.string(), std::strerror(error), expected};
}

// SQLite gives its journal the permissions of the record itself, so it is enough to make the empty file
// private.
int make_private_file(const std::filesystem::path& file) {
  const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (descriptor < 0) return errno;
  ::close(descriptor);
  return 0;
}

}  // namespace

std::filesystem::path record_file(const std::filesystem::path& folder) {
  return folder / "record.sqlite3";
}

Result<std::filesystem::path> make_data_folder(const std::filesystem::path& folder) {
  constexpr auto expected = "a data folder that this user may write to";
  std::error_code error;
  const auto whole = std::filesystem::absolute(folder, error).lexically_normal();
  if (error) return refused(folder, error.value(), expected);
  const auto parent = (whole.has_filename() ? whole : whole.parent_path()).parent_path();
  std::filesystem::create_directories(parent, error);
  if (error) return refused(parent, error.value(), expected);
  const bool made = ::mkdir(whole.c_str(), 0700) == 0;
  if (!made && errno != EEXIST) return refused(whole, errno, expected);
  if (!std::filesystem::is_directory(whole, error)) return refused(whole, ENOTDIR, expected);
  if (made) {
    if (const int failed = synchronise_folder(parent)) return refused(parent, failed, expected);
  }
  if (const int failed = make_private_file(record_file(whole)))
    return refused(record_file(whole), failed, expected);
  if (const int failed = synchronise_folder(whole)) return refused(whole, failed, expected);
  return whole;
}

Result<std::shared_ptr<WriterLock>> WriterLock::take(const std::filesystem::path& folder) {
  const auto file = folder / "writer.lock";
  const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (descriptor < 0) return refused(file, errno, "a data folder that this user may write to");
  if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    const int error = errno;
    std::array<char, 24> holder{};
    const auto size = ::pread(descriptor, holder.data(), holder.size() - 1, 0);
    ::close(descriptor);
    if (error != EWOULDBLOCK) return refused(file, error, "a local disk on which files can be locked");
    std::string who(holder.data(), size > 0 ? static_cast<std::size_t>(size) : 0);
    who.erase(who.find_last_not_of("\n") + 1);
    return Problem{folder.string(),
                   who.empty() ? std::string("another station writing to this record")
                               : fmt::format("another station (process {}) writing to this record", who),
                   "one station for each data folder; stop the other one or name another folder with --data"};
  }
  // The process id is only for the message above; a failure to write it takes nothing from the lock.
  const auto text = fmt::format("{}\n", ::getpid());
  if (::ftruncate(descriptor, 0) == 0) [[maybe_unused]]
    const auto written = ::pwrite(descriptor, text.data(), text.size(), 0);
  return std::shared_ptr<WriterLock>(new WriterLock(descriptor));
}

WriterLock::~WriterLock() {
  ::close(descriptor_);
}

}  // namespace shankwright::record
