#pragma once
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "library/kinds.hpp"
#include "library/library.hpp"

namespace shankwright::library::tests {

[[nodiscard]] std::string read_text(const std::filesystem::path& file);

/// Shipped files of one kind, sorted; every kind's together with all_shipped().
struct Shipped {
  FileKind kind;
  std::filesystem::path file;
  std::string text;
};
[[nodiscard]] std::vector<Shipped> all_shipped();

/// Reads a text as one kind, alone, and gives the faults.
[[nodiscard]] std::vector<Problem> faults_of(FileKind kind, const std::string& text);

/// "line:column" of the `nth` (from 0) occurrence of `marker` in the text.
[[nodiscard]] std::string place_of(const std::string& text, const std::string& marker, int nth = 0);

/// "3:14" of "file.yaml:3:14".
[[nodiscard]] std::string line_and_column(const Problem& problem);

/// A copy of the shipped library in a folder of its own, removed at the end.
class LibraryFolder {
 public:
  LibraryFolder();
  ~LibraryFolder();
  LibraryFolder(const LibraryFolder&) = delete;
  LibraryFolder& operator=(const LibraryFolder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] std::string text(const std::string& file) const { return read_text(path_ / file); }
  void write(const std::string& file, const std::string& text) const;
  /// Replaces the one place where `from` stands; it is a mistake of the test when there is none.
  void edit(const std::string& file, const std::string& from, const std::string& to) const;
  void remove(const std::string& file) const;
  [[nodiscard]] std::vector<Problem> faults_in(const std::string& file) const;

 private:
  std::filesystem::path path_;
};

}  // namespace shankwright::library::tests
