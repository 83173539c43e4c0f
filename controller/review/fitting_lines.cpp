#include "review/fitting_lines.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <nlohmann/json.hpp>
#include <utility>

#include "review/time.hpp"

namespace shankwright::review {
namespace {

void append_number(std::string& out, std::uint32_t number) {
  std::array<char, 10> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  out.append(digits.data(), end);
}

void append_two_digits(std::string& out, std::int64_t number) {
  out += static_cast<char>('0' + number / 10);
  out += static_cast<char>('0' + number % 10);
}

// As utc_text() with six decimals. Lines of an export mostly share their day, and a day's date is what takes
// time.
void append_instant(std::string& out, std::int64_t utc_us) {
  thread_local std::int64_t known_day = -1;
  thread_local std::string date;
  if (utc_us < 0) {
    out += utc_text(utc_us);
    return;
  }
  const auto day = utc_us / us_per_day;
  if (day != known_day) {
    date = utc_text(utc_us, 0).substr(0, 11);
    known_day = day;
  }
  const auto in_day = utc_us % us_per_day;
  const auto seconds = in_day / 1'000'000, micros = in_day % 1'000'000;
  out += date;
  append_two_digits(out, seconds / 3600);
  out += ':';
  append_two_digits(out, seconds / 60 % 60);
  out += ':';
  append_two_digits(out, seconds % 60);
  out += '.';
  append_two_digits(out, micros / 10'000);
  append_two_digits(out, micros / 100 % 100);
  append_two_digits(out, micros % 100);
  out += 'Z';
}

void append_cell(std::string& out, std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char character : text) {
    if (character == '"') out += '"';
    out += character;
  }
  out += '"';
}

}  // namespace

void append_csv_heading(std::string& out) {
  out +=
      "serial,verdict,stage,started_utc,changed_utc,recipe,revision,job,operator,rope_lot,terminal_lot,die_"
      "pair\r\n";
}

void append_csv_line(std::string& out, const ports::FittingRow& row) {
  for (const auto* text : {&row.serial, &row.verdict, &row.stage}) {
    append_cell(out, *text);
    out += ',';
  }
  append_instant(out, row.started_utc_us);
  out += ',';
  append_instant(out, row.changed_utc_us);
  out += ',';
  append_cell(out, row.recipe_id);
  out += ',';
  append_number(out, row.recipe_revision);
  for (const auto* text : {&row.job, &row.operator_id, &row.rope_lot, &row.terminal_lot, &row.die_pair_id}) {
    out += ',';
    append_cell(out, *text);
  }
  out += "\r\n";
}

void append_json_text(std::string& out, std::string_view text) {
  const bool plain = std::none_of(text.begin(), text.end(), [](char character) {
    return character == '"' || character == '\\' || static_cast<unsigned char>(character) < 0x20 ||
           static_cast<unsigned char>(character) >= 0x7f;
  });
  if (!plain) {
    out += nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    return;
  }
  out += '"';
  out += text;
  out += '"';
}

void append_json_body(std::string& out, std::string_view body) {
  const bool one_line = body.find_first_of("\r\n") == std::string_view::npos;
  if (one_line && body.starts_with('{') && nlohmann::json::accept(body))
    out += body;
  else
    append_json_text(out, body);
}

void append_json_members(std::string& out, const ports::FittingRow& row) {
  const auto text = [&](std::string_view name, const std::string& value) {
    out += name;
    append_json_text(out, value);
  };
  text("{\"serial\":", row.serial);
  text(",\"recipe\":", row.recipe_id);
  out += ",\"revision\":";
  append_number(out, row.recipe_revision);
  text(",\"job\":", row.job);
  text(",\"operator\":", row.operator_id);
  text(",\"rope_lot\":", row.rope_lot);
  text(",\"terminal_lot\":", row.terminal_lot);
  text(",\"die_pair\":", row.die_pair_id);
  text(",\"stage\":", row.stage);
  text(",\"verdict\":", row.verdict);
  out += ",\"started_utc\":\"";
  append_instant(out, row.started_utc_us);
  out += "\",\"changed_utc\":\"";
  append_instant(out, row.changed_utc_us);
  out += '"';
}

}  // namespace shankwright::review
