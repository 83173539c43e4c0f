#pragma once
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "quantity/result.hpp"

/// One YAML document as a tree of our own, built from the parser's events: duplicate keys are still there,
/// every node knows its place, and anchors, aliases, tags and depth are judged before anything is built on
/// them.
namespace shankwright::library {

struct Place {
  int line = 1;    ///< from 1
  int column = 1;  ///< from 1, in bytes
};

struct Entry;

struct Node {
  enum class Kind { nothing, scalar, sequence, map };
  Kind kind = Kind::nothing;
  Place place;
  std::string text;            ///< of a scalar
  std::vector<Node> items;     ///< of a sequence
  std::vector<Entry> entries;  ///< of a map, in order, duplicates kept
};

/// One key of a map and what stands under it.
struct Entry {
  Node first, second;
};

/// What stands there, in words for a fault: a scalar's text, "a list", "a map", "nothing".
[[nodiscard]] std::string found_in(const Node& node);

/// Faults of one file, collected. Never throws for what a file says.
class FaultList {
 public:
  explicit FaultList(std::string file) : file_(std::move(file)) {}
  void add(Place place, std::string_view found, std::string expected);
  [[nodiscard]] std::string at(Place place) const;  ///< "file:line:column"
  [[nodiscard]] const std::string& file() const { return file_; }
  [[nodiscard]] std::vector<Problem> take();  ///< in order of line and column
  [[nodiscard]] bool empty() const { return faults_.empty(); }

 private:
  std::string file_;
  std::vector<std::pair<Place, Problem>> faults_;
};

inline constexpr std::size_t file_bytes_most = std::size_t{256} * 1024;
inline constexpr int depth_most = 16;

/// The file's bytes, or why they cannot be had: missing, not a regular file, too large, unreadable.
[[nodiscard]] Result<std::string> read_file(const std::filesystem::path& file);

/// Parses one document. Faults found are added; the tree is there only when the text as a whole could be
/// read, and without the parts refused. A syntax error ends the reading, so it is the last fault its file can
/// show.
[[nodiscard]] std::optional<Node> parse_yaml(const std::string& text, FaultList& faults);

}  // namespace shankwright::library
