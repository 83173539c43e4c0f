#include "library_folder.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <random>
#include <stdexcept>

#include "library/job.hpp"
#include "library/shop.hpp"

namespace shankwright::library::tests {

namespace fs = std::filesystem;

std::string read_text(const fs::path& file) {
  std::ifstream stream(file, std::ios::binary);
  if (!stream) throw std::runtime_error("cannot read " + file.string());
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

std::vector<Shipped> all_shipped() {
  std::vector<Shipped> out;
  for (const KindFolder& kind : kind_folders) {
    for (const auto& entry : fs::directory_iterator(fs::path(SOURCE_DIR "/recipes") / kind.folder)) {
      out.push_back({kind.kind, entry.path(), read_text(entry.path())});
    }
  }
  std::sort(out.begin(), out.end(), [](const Shipped& a, const Shipped& b) { return a.file < b.file; });
  return out;
}

std::vector<Problem> faults_of(FileKind kind, const std::string& text) {
  FaultList faults("f");
  if (const auto root = parse_yaml(text, faults)) {
    Places places;
    switch (kind) {
      case FileKind::rope:
        (void)read_rope(*root, faults);
        break;
      case FileKind::terminal:
        (void)read_terminal(*root, faults);
        break;
      case FileKind::die_pair:
        (void)read_die_pair(*root, faults);
        break;
      case FileKind::gauge:
        (void)read_gauge(*root, faults);
        break;
      case FileKind::press:
        (void)read_press(*root, faults);
        break;
      case FileKind::recipe:
        (void)read_recipe(*root, faults);
        break;
      case FileKind::shop:
        (void)read_shop(*root, nullptr, faults, places);
        break;
      case FileKind::job:
        (void)read_job(*root, nullptr, faults, places);
        break;
    }
  }
  return faults.take();
}

std::string place_of(const std::string& text, const std::string& marker, int nth) {
  std::size_t at = text.find(marker);
  for (; nth > 0 && at != std::string::npos; --nth) at = text.find(marker, at + 1);
  if (at == std::string::npos) throw std::logic_error("no \"" + marker + "\" in the text");
  const auto line = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
  const std::size_t line_start = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
  const std::size_t column = line_start == std::string::npos ? at + 1 : at - line_start;
  return std::to_string(line) + ":" + std::to_string(column);
}

std::string line_and_column(const Problem& problem) {
  const std::size_t column = problem.place.rfind(':');
  if (column == std::string::npos || column == 0) return "";
  const std::size_t line = problem.place.rfind(':', column - 1);
  return line == std::string::npos ? "" : problem.place.substr(line + 1);
}

LibraryFolder::LibraryFolder() {
  std::random_device random;
  path_ = fs::temp_directory_path() /
          ("shankwright-library-" + std::to_string(random()) + std::to_string(random()));
  fs::create_directories(path_);
  fs::copy(SOURCE_DIR "/recipes", path_, fs::copy_options::recursive);
}

LibraryFolder::~LibraryFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

void LibraryFolder::write(const std::string& file, const std::string& text) const {
  std::ofstream stream(path_ / file, std::ios::binary);
  stream << text;
}

void LibraryFolder::edit(const std::string& file, const std::string& from, const std::string& to) const {
  std::string whole = text(file);
  const std::size_t at = whole.find(from);
  if (at == std::string::npos || whole.find(from, at + 1) != std::string::npos) {
    throw std::logic_error("\"" + from + "\" does not stand once in " + file);
  }
  write(file, whole.replace(at, from.size(), to));
}

void LibraryFolder::remove(const std::string& file) const {
  fs::remove(path_ / file);
}

std::vector<Problem> LibraryFolder::faults_in(const std::string& file) const {
  const std::string shown = (path_ / file).generic_string();
  std::vector<Problem> out;
  for (const Problem& problem : load(path_).faults) {
    if (problem.place == shown || problem.place.rfind(shown + ":", 0) == 0) out.push_back(problem);
  }
  return out;
}

}  // namespace shankwright::library::tests
