#include "record/heads_file.hpp"

#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <limits>
#include <sstream>

#include "record/reader.hpp"
#include "record/seal.hpp"
#include "record/seal_code.hpp"
#include "record/whole_file.hpp"

namespace shankwright::record {
namespace {

constexpr std::size_t heads_bytes_most = std::size_t{1} << 30;

std::string line_of(const ports::Seal& seal) {
  return fmt::format("{} {} {:%Y-%m-%dT%H:%M:%SZ} {}\n", full_code(seal), seal.public_key_hex,
                     fmt::gmtime(static_cast<std::time_t>(seal.at_utc_us / 1'000'000)), seal.why);
}

Problem refused(const std::filesystem::path& file, int error) {
  return {file.string(), std::strerror(error), "a file on another disk that takes a line for every seal"};
}

// What a loss of power left of a line would run into the next one.
std::optional<Problem> take_away_torn_line(const std::filesystem::path& file) {
  const auto text = read_small_file(file, heads_bytes_most);
  if (!text) return text.problem();
  if (text.value().empty() || text.value().back() == '\n') return std::nullopt;
  const auto end = text.value().rfind('\n');
  const auto kept = end == std::string::npos ? 0 : static_cast<off_t>(end + 1);
  return ::truncate(file.c_str(), kept) == 0 ? std::nullopt : std::optional(refused(file, errno));
}

}  // namespace

Result<HeadsFile> HeadsFile::open(const std::filesystem::path& file) {
  HeadsFile out;
  out.file_ = std::filesystem::absolute(file);
  std::error_code error;
  if (!std::filesystem::exists(file, error)) return out;
  if (const auto problem = take_away_torn_line(file)) return *problem;
  auto kept = read_heads_file(file);
  if (!kept) return kept.problem();
  if (!kept.value().empty()) {
    const auto code = read_code(kept.value().back().code);
    if (!code)
      return Problem{fmt::format("{}:{}", file.string(), kept.value().back().line), code.problem().found,
                     code.problem().expected};
    out.newest_ = code.value().sequence;
  }
  return out;
}

std::optional<Problem> HeadsFile::catch_up(SQLite::Database& live, PartFiles& parts) {
  if (!kept()) return std::nullopt;
  std::string lines;
  std::int64_t covered = newest_, looked = newest_;
  parts.each(live, newest_ + 1, std::numeric_limits<std::int64_t>::max(), [&](SQLite::Database& file) {
    while (const auto found = read_first_of_kind_after(file, std::string(seal_kind), looked)) {
      const auto seal = read_seal(found->entry);
      if (seal && seal.value().sequence > covered) {
        lines += line_of(seal.value());
        covered = seal.value().sequence;
      }
      looked = found->sequence;
    }
  });
  if (lines.empty()) return std::nullopt;
  const int descriptor = ::open(file_.c_str(), O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0644);
  if (descriptor < 0) return refused(file_, errno);
  const auto before = ::lseek(descriptor, 0, SEEK_END);
  const auto written = ::write(descriptor, lines.data(), lines.size());
  int error = written == static_cast<ssize_t>(lines.size()) ? 0 : written < 0 ? errno : ENOSPC;
  if (error == 0 && ::fsync(descriptor) != 0) error = errno;
  if (error != 0 && ::ftruncate(descriptor, before) != 0) error = errno;
  ::close(descriptor);
  if (error != 0) return refused(file_, error);
  if (const int failed = synchronise_folder(file_.parent_path())) return refused(file_, failed);
  newest_ = covered;
  return std::nullopt;
}

Result<std::vector<KeptHead>> read_heads_file(const std::filesystem::path& file) {
  std::ifstream in(file);
  if (!in) return Problem{file.string(), std::strerror(errno), "the file of sealed heads"};
  std::vector<KeptHead> out;
  std::string line;
  for (std::size_t number = 1; std::getline(in, line); ++number) {
    if (in.eof()) break;  // without its end of line: torn while it was written, and written again since
    KeptHead head;
    head.line = number;
    std::istringstream words(line);
    words >> head.code >> head.public_key_hex;
    if (!head.code.empty()) out.push_back(head);
  }
  return out;
}

}  // namespace shankwright::record
