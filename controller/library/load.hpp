#pragma once
#include <filesystem>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "library/library.hpp"

namespace shankwright::library {

/// A library as loaded, with what was found kept apart by file.
struct LoadReport {
  Library library;                                               ///< faults and warnings not yet filled
  std::map<std::string, std::vector<Problem>> faults, warnings;  ///< by file as shown, in path order
  std::set<std::string> unreadable;  ///< files (or the folder) that could not be read
  std::set<std::string> files;       ///< files read
};

[[nodiscard]] LoadReport load_report(const std::filesystem::path& folder);

}  // namespace shankwright::library
