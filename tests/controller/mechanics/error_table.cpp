#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iostream>
#include <sstream>
#include <string>
#include <vector>

#include "reference_cases.hpp"

// Prints the table of the model's errors against the reference cases, worst first, as
// controller/mechanics/README.md holds it; with
// --check FILE says whether that file holds just this table.
int main(int argc, char** argv) {
  struct Row {
    std::string name;
    reference::Error error;
  };
  std::vector<Row> rows;
  for (const reference::Case& one : reference::cases()) rows.push_back({one.name, reference::error_of(one)});
  std::sort(rows.begin(), rows.end(),
            [](const Row& a, const Row& b) { return std::abs(a.error.force) > std::abs(b.error.force); });
  std::string table =
      "| case | force, gap 0.5 mm to closed | force at 1 mm | growth, points | widths after release |\n| --- "
      "| --- | --- | --- | --- |\n";
  for (const Row& row : rows)
    table += fmt::format(
        "| {} | {:+.1f} % | {} | {:+.2f} | {} |\n", row.name, 100 * row.error.force,
        row.error.force_early != 0 ? fmt::format("{:+.0f} %", 100 * row.error.force_early) : "",
        100 * row.error.growth, row.error.width_mm != 0 ? fmt::format("{:+.3f} mm", row.error.width_mm) : "");
  if (argc < 3) {
    std::cout << table;
    return 0;
  }
  std::ifstream file(argv[2]);
  std::stringstream text;
  text << file.rdbuf();
  if (text.str().find(table) != std::string::npos) return 0;
  std::cout << argv[2] << " does not hold the table as measured now:\n" << table;
  return 1;
}
