#include "simulators/operator/report.hpp"

#include <fmt/format.h>

namespace shankwright::demo {
namespace {

std::string_view name_of(Ending ending) {
  switch (ending) {
    case Ending::accepted:
      return "accepted";
    case Ending::re_pressed:
      return "re-pressed";
    case Ending::scrapped:
      return "scrapped";
    case Ending::held:
      return "held";
    case Ending::unfinished:
      return "unfinished";
  }
  return "";
}

void print(const std::string& text) {
  std::fputs(text.c_str(), stdout);
  std::fflush(stdout);
}

}  // namespace

void Tally::count(Ending ending) {
  switch (ending) {
    case Ending::accepted:
      ++accepted;
      return;
    case Ending::re_pressed:
      ++re_pressed;
      return;
    case Ending::scrapped:
      ++scrapped;
      return;
    case Ending::held:
      ++held;
      return;
    case Ending::unfinished:
      ++unfinished;
      return;
  }
}

std::string Tally::closing_line() const {
  return fmt::format("accepted {}, re-pressed {}, scrapped {}, held {}", accepted, re_pressed, scrapped,
                     held);
}

Line::Line(std::size_t number, std::size_t of, bool as_data) : number_(number), of_(of), as_data_(as_data) {
  if (!as_data_) print(fmt::format("{}/{}  ", number_, of_));
}

void Line::begin(const std::string& serial, const std::string& recipe) {
  serial_ = serial;
  recipe_ = recipe;
  if (!as_data_) print(fmt::format("{}  {}  ", serial, recipe));
}

void Line::put(const std::string& text) {
  if (!as_data_) print((fresh_ ? "" : "; ") + text);
  fresh_ = false;
}

void Line::event(std::string_view what_happened, std::string_view answer, const std::string& station_says) {
  events_.push_back({{"happened", what_happened}, {"answer", answer}, {"station_says", station_says}});
  put(fmt::format("{}{}{} \"{}\"", what_happened, what_happened.empty() ? "" : ": ", answer, station_says));
}

void Line::mistake(std::string_view what_happened) {
  events_.push_back({{"happened", what_happened}, {"answer", ""}, {"station_says", ""}});
  put(std::string(what_happened));
}

void Line::end(Ending ending, const std::string& details, const Json& fitting) {
  if (as_data_) {
    const Json line{{"number", number_},
                    {"of", of_},
                    {"serial", serial_},
                    {"recipe", recipe_},
                    {"events", events_},
                    {"ending", name_of(ending)},
                    {"details", details},
                    {"evidence", fitting.is_object() ? fitting.at("evidence") : Json()},
                    {"standing", fitting.is_object() ? fitting.at("standing") : Json::array()}};
    print(line.dump() + "\n");
    return;
  }
  put(fmt::format("{}{}\n", name_of(ending), details));
}

}  // namespace shankwright::demo
