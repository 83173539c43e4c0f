#include "main/unknown_serial.hpp"

#include <iostream>
#include <nlohmann/json.hpp>

#include "record/serial.hpp"
#include "record/store.hpp"
#include "review/nearest_serials.hpp"

namespace shankwright::command {

int unknown_serial(const record::SqliteStore& store, const std::string& typed, const Problem& problem,
                   bool as_data) {
  const auto known = store.serials_near(typed);
  const auto near = known ? review::nearest_serials(typed, known.value(), 5) : std::vector<std::string>{};
  const bool given = record::number_of(typed).has_value();
  if (as_data) {
    using nlohmann::json;
    const json out{
        {"problem", {{"place", problem.place}, {"found", problem.found}, {"expected", problem.expected}}},
        {"check_characters_fit", given},
        {"near", near}};
    std::cout << out.dump(2, ' ', false, json::error_handler_t::replace) << '\n';
    return 1;
  }
  std::cerr << "shankwright: " << problem.text() << '\n';
  if (!given)
    std::cerr << "Its check characters do not fit, so it was misread or mistyped. A whole serial looks like "
              << record::serial_of(1) << ".\n";
  if (!near.empty()) {
    std::cerr << "Near to it:\n";
    for (const auto& serial : near) std::cerr << "  " << serial << '\n';
  }
  return 1;
}

}  // namespace shankwright::command
