#pragma once
#include <stdlib.h>
#include <sys/wait.h>

#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

/// Independent programs that look at what ours has written.
namespace shankwright::tests {

struct ToolAnswer {
  int exit_code = -1;
  std::string out;
};

/// Runs a shell command; what it writes to stdout.
inline ToolAnswer run_tool(const std::string& command) {
  ToolAnswer answer;
  FILE* const pipe = ::popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::array<char, 65536> piece{};
  for (std::size_t got = 0; (got = std::fread(piece.data(), 1, piece.size(), pipe)) > 0;)
    answer.out.append(piece.data(), got);
  const int status = ::pclose(pipe);
  answer.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return answer;
}

/// A folder that is gone with its contents at the end.
class ScratchFolder {
 public:
  ScratchFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "shankwright-test-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    path_ = name;
  }
  ~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;

  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// Writes a file and gives its path, fit for a shell.
  [[nodiscard]] std::string put(const std::string& name, const std::string& bytes) const {
    std::ofstream(path_ / name, std::ios::binary) << bytes;
    return (path_ / name).string();
  }

 private:
  std::filesystem::path path_;
};

/// Without blanks and line ends: a page breaks its lines where it must.
inline std::string without_blanks(const std::string& text) {
  std::string out;
  for (const char c : text)
    if (c != ' ' && c != '\n' && c != '\r' && c != '\f' && c != '\t') out += c;
  return out;
}

}  // namespace shankwright::tests
