#pragma once
#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

#include "simulators/operator/json_client.hpp"

/// What a watcher reads: one line a fitting, as it goes, and the closing line.
namespace shankwright::demo {

enum class Ending : std::uint8_t { accepted, re_pressed, scrapped, held, unfinished };

struct Tally {
  int accepted = 0, re_pressed = 0, scrapped = 0, held = 0, unfinished = 0;
  void count(Ending ending);
  [[nodiscard]] std::string closing_line() const;
};

/// One fitting's line. Text grows while the fitting does; as_data prints one JSON object at the end instead.
class Line {
 public:
  Line(std::size_t number, std::size_t of, bool as_data);

  void begin(const std::string& serial, const std::string& recipe);
  /// Something went otherwise than planned: `what_happened` (may be empty), and the station's own sentence.
  void event(std::string_view what_happened, std::string_view answer, const std::string& station_says);
  void mistake(std::string_view what_happened);  ///< that nobody has noticed yet
  void end(Ending ending, const std::string& details, const Json& fitting);

 private:
  void put(const std::string& text);

  std::size_t number_, of_;
  bool as_data_;
  bool fresh_ = true;  ///< nothing said since the recipe
  std::string serial_, recipe_;
  Json events_ = Json::array();
};

}  // namespace shankwright::demo
