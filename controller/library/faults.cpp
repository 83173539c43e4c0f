#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <system_error>

#include "library/node.hpp"
#include "quantity/as_written.hpp"

namespace shankwright::library {

std::string FaultList::at(Place place) const {
  return file_ + ":" + std::to_string(place.line) + ":" + std::to_string(place.column);
}

void FaultList::add(Place place, std::string_view found, std::string expected) {
  faults_.emplace_back(place, Problem{at(place), quantity::as_written(found), std::move(expected)});
}

std::vector<Problem> FaultList::take() {
  std::stable_sort(faults_.begin(), faults_.end(), [](const auto& a, const auto& b) {
    return std::pair(a.first.line, a.first.column) < std::pair(b.first.line, b.first.column);
  });
  std::vector<Problem> out;
  for (auto& fault : faults_) out.push_back(std::move(fault.second));
  faults_.clear();
  return out;
}

std::string found_in(const Node& node) {
  switch (node.kind) {
    case Node::Kind::nothing:
      return "nothing";
    case Node::Kind::scalar:
      return node.text;
    case Node::Kind::sequence:
      return "a list";
    case Node::Kind::map:
      return "a map";
  }
  return "";
}

Result<std::string> read_file(const std::filesystem::path& file) {
  const std::string shown = file.generic_string();
  std::error_code error;
  const auto status = std::filesystem::status(file, error);
  if (!std::filesystem::exists(status)) return Problem{shown, "no such file", "a file that can be read"};
  // A pipe or a device would make the station wait for ever.
  if (!std::filesystem::is_regular_file(status)) return Problem{shown, "no regular file", "a YAML file"};
  const auto size = std::filesystem::file_size(file, error);
  if (!error && size > file_bytes_most) {
    return Problem{shown + ":1:1", std::to_string(size) + " bytes",
                   "at most " + std::to_string(file_bytes_most) + " bytes"};
  }
  errno = 0;
  std::ifstream stream(file, std::ios::binary);
  std::string text;
  if (stream) text.assign(std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>());
  if (!stream.is_open() || stream.bad()) {
    const int code = errno;
    return Problem{shown, code != 0 ? std::generic_category().message(code) : "no way to read it",
                   "a file that can be read"};
  }
  return text;
}

}  // namespace shankwright::library
