#include <catch2/catch.hpp>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <sstream>

#include "drivers/modbus/profile.hpp"
#include "other_profile.hpp"

using namespace shankwright;
using namespace shankwright::modbus;

namespace {

std::string reference_text() {
  std::ifstream file(SOURCE_DIR "/drivers/profiles/reference.yaml");
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  const std::size_t at = text.find(what);
  if (at == std::string::npos) throw std::logic_error("the profile has no " + what);
  return text.replace(at, what.size(), with);
}

bool names_line_and_column(const std::string& place) {
  int line = 0, column = 0, end = 0;
  return std::sscanf(place.c_str(), "press.yaml:%d:%d%n", &line, &column, &end) == 2 && line > 0 &&
         column > 0 && static_cast<std::size_t>(end) == place.size();
}

}  // namespace

TEST_CASE("The reference profile says what the reference press map says") {
  const LoadedProfile loaded = load_profile(SOURCE_DIR "/drivers/profiles/reference.yaml");
  for (const Problem& problem : loaded.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(loaded.ok());
  const Profile& profile = loaded.profile;
  // The tables of the reference press map, version 1, copied by hand: signal, address, type, value of one
  // count.
  struct Row {
    Signal signal;
    int address;
    RegisterType type;
    double count;
  };
  using enum Signal;
  const RegisterType u16 = RegisterType::u16, i16 = RegisterType::i16, u32 = RegisterType::u32;
  const Row rows[] = {
      {map_version, 0, u16, 1},     {node_beat, 1, u16, 1},        {phase, 2, u16, 1},
      {fault_code, 3, u16, 1},      {status, 4, u16, 1},           {die_tag, 5, u16, 1},
      {angle, 6, u16, 0.1},         {oil_temperature, 7, i16, .1}, {pressure, 8, u16, 0.1},
      {gap, 9, u16, 0.001},         {edge_distance, 10, i16, .01}, {permit_echo, 11, u16, 1},
      {permit_state, 12, u16, 1},   {bite_number, 13, u16, 1},     {stroke_total, 14, u32, 1},
      {peak_pressure, 16, u16, .1}, {dwell_done, 17, u16, 1},      {least_gap, 18, u16, 0.001},
      {newest_sample, 19, u16, 1},  {sample_count, 20, u16, 1},    {sample_bite, 21, u16, 1},
      {refusal, 22, u16, 1}};
  REQUIRE(std::size(rows) == signal_count);
  for (const Row& row : rows) {
    INFO(name_of(row.signal));
    const Field& field = profile[row.signal];
    CHECK(field.address == row.address);
    CHECK(field.type == row.type);
    CHECK(field.scale.value(1) == Approx(row.count).epsilon(1e-12));
    CHECK(field.word_order == WordOrder::high_word_first);
    CHECK_FALSE(field.constant);
    CHECK(field.beyond_range.has_value() == (row.signal == gap || row.signal == least_gap));
  }
  const double order_counts[] = {1, 1, 0.1, 0.1, 1, 0.001, 1, 1, 1};
  for (std::size_t i = 0; i < order_field_count; ++i) {
    const Field& field = profile.order[i];
    INFO(field.name);
    CHECK(field.address == i + 1);
    CHECK(field.type == RegisterType::u16);
    CHECK(field.scale.value(1) == Approx(order_counts[i]).epsilon(1e-12));
  }
  for (std::size_t bit = 0; bit < status_bit_count; ++bit) {
    CHECK(profile.status_bits[bit].source == StatusBit::Source::bit);
    CHECK(profile.status_bits[bit].bit == bit);
  }
  CHECK(profile.map_version == 1);
  CHECK(profile.read_function == 4);
  CHECK(profile.read_window.start == 0);
  CHECK(profile.read_window.count == 100);
  CHECK(profile.samples.address == 25);
  CHECK(profile.samples.count == 25);
  CHECK(profile.samples.registers_each == 3);
  CHECK(profile.samples.period_ms == 2);
  CHECK(profile.samples.time.address == 0);
  CHECK(profile.samples.pressure.address == 1);
  CHECK(profile.samples.gap.address == 2);
  CHECK(profile.station_beat.address == 0);
  CHECK(profile.beat_function == 6);
  CHECK(profile.order_window.start == 1);
  CHECK(profile.order_window.count == 9);
  CHECK(profile.read_back_window.start == 0);
  CHECK(profile.read_back_window.count == 10);
}

TEST_CASE("A press with other registers is another profile") {
  const LoadedProfile loaded = parse_profile(test::other_profile, "other.yaml");
  for (const Problem& problem : loaded.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(loaded.ok());
  CHECK(loaded.profile.read_function == 3);
  CHECK(loaded.profile.read_window.start == 120);
  CHECK(loaded.profile.read_window.count == 100);
  CHECK(loaded.profile.order_window.start == 300);
  CHECK(loaded.profile.order_window.count == 12);
  CHECK(loaded.profile[Signal::angle].word_order == WordOrder::low_word_first);
  CHECK(loaded.profile[Signal::edge_distance].word_order == WordOrder::high_word_first);
}

TEST_CASE("Every fault of a profile is told with its line, what was found and what is expected") {
  struct Case {
    const char* what;
    const char* with;
    const char* found;
    const char* expected;
  };
  const Case cases[] = {
      {"phase:           {address: 2,", "phase:           {address: 65536,", "65536", "from 0 to 65535"},
      {"phase:           {address: 2,", "phase:           {address: -1,", "-1", "from 0 to 65535"},
      {"phase:           {address: 2,", "phase:           {address: 2.5,", "2.5", "whole number"},
      {"phase:           {address: 2,  type: u16}", "phase:           {address: 2}", "no type",
       "u16, i16, u32 or i32"},
      {"phase:           {address: 2,  type: u16}", "phase:           {address: 2, type: u8}", "u8", "u16"},
      {"phase:           {address: 2,  type: u16}", "phase:           {address: 2, type: u16, unit: bar}",
       "unit", "plain number"},
      {"phase:           {address: 2,  type: u16}", "phase:           7", "7", "phase as a map"},
      {"phase:           {address: 2,  type: u16}", "phase: {address: 2, type: u16, codes: {1: 2, 1: 3}}",
       "1 a second time", "once"},
      {"scale: 0.1,   unit: deg", "scale: 0.1", "no unit", "unit of angle"},
      {"scale: 0.1,   unit: deg", "scale: 0.1,   unit: mm", "mm", "deg"},
      {"scale: 0.1,   unit: deg", "scale: 0,     unit: deg", "0", "above zero"},
      {"scale: 0.1,   unit: deg", "scale: -0.1,  unit: deg", "-0.1", "above zero"},
      {"scale: 0.1,   unit: deg", "scale: tenth, unit: deg", "tenth", "0.1"},
      {"scale: 0.1,   unit: deg", "scale: .nan,  unit: deg", ".nan", "0.1"},
      {"scale: 0.1,   unit: deg", "unit: deg", "no scale", "0.1"},
      {"  refusal:         {address: 22, type: u16}\n", "", "no refusal", "refusal is read"},
      {"  refusal:         {address: 22, type: u16}\n", "  surprise: {address: 22, type: u16}\n", "surprise",
       "one of the keys of signals"},
      {"  refusal:         {address: 22, type: u16}\n",
       "  refusal:         {address: 22, type: u16}\n  refusal:         {address: 22, type: u16}\n",
       "refusal a second time", "once"},
      {"refusal:         {address: 22, type: u16}", "refusal:         {address: 125, type: u16}",
       "registers 0 to 125", "at most 125 registers"},
      {"refusal:         {address: 22, type: u16}", "refusal:         {address: 22, constant: 0}", "address",
       "either"},
      {"map_version:     {address: 0,  type: u16}", "map_version:     {constant: 1}", "a constant",
       "register"},
      {"guard_closed: 1", "guard_closed: 16", "16", "0 to 15"},
      {"guard_closed: 1", "guard_closed: perhaps", "perhaps", "never or always"},
      {"      guard_closed: 1\n", "", "no guard_closed", "bit number"},
      {"stroke_total:    {address: 14, type: u32}", "stroke_total:    {address: 65535, type: u32}",
       "32-bit value at 65535", "two registers"},
      {"function: 4", "function: 3", "3", "reads the input table"},
      {"table: input", "table: coils", "coils", "holding"},
      {"count: 25 ", "count: 0 ", "0", "1 to 125"},
      {"count: 25 ", "count: 34 ", "registers 0 to 126", "one read"},
      {"{offset: 2, type: u16, scale: 0.001", "{offset: 3, type: u16, scale: 0.001", "offset 3",
       "inside the sample"},
      {"period: {value: 2,", "period: {value: 0,", "0", "above zero"},
      {"packing: either", "packing: middle", "middle", "either"},
      {"station_beat:      {address: 0, type: u16, function: 6}",
       "station_beat:      {address: 0, type: u16, function: 5}", "5", "6"},
      {"station_beat:      {address: 0, type: u16, function: 6}",
       "station_beat:      {address: 4, type: u16, function: 6}", "a beat inside the order",
       "does not write"},
      {"station_beat:      {address: 0, type: u16, function: 6}",
       "station_beat:      {address: 0, type: u32, function: 6}", "not one 16-bit register", "u16"},
      {"function: 16", "function: 6", "6", "16"},
      {"read_back_function: 3", "read_back_function: 4", "4", "3"},
      {"order_token:       {address: 2,", "order_token:       {address: 1,", "order uses too", "of its own"},
      {"order_token:       {address: 2,", "order_token:       {address: 200,", "registers 1 to 200",
       "one write"},
      {"word_order: high_word_first", "word_order: sideways", "sideways", "low_word_first"},
      {"map_version: 1", "map_version: one", "one", "map_version"},
      {"profile: reference press map", "profile: ''", "empty", "name"},
  };
  const std::string good = reference_text();
  for (const Case& one : cases) {
    INFO(one.what << " -> " << one.with);
    const LoadedProfile loaded = parse_profile(replaced(good, one.what, one.with), "press.yaml");
    REQUIRE_FALSE(loaded.ok());
    bool told = false;
    for (const Problem& problem : loaded.problems) {
      UNSCOPED_INFO(problem.text());
      CHECK(names_line_and_column(problem.place));
      told = told || (problem.found.find(one.found) != std::string::npos &&
                      problem.expected.find(one.expected) != std::string::npos);
    }
    CHECK(told);
  }
}

TEST_CASE("A fault's place is the line and column it stands at") {
  const std::string text = replaced(reference_text(), "{address: 2,  type: u16}", "{address: 2,  type: u8}");
  const std::size_t at = text.find("u8");
  const std::string before = text.substr(0, at);
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const auto column = at - before.rfind('\n');
  const LoadedProfile loaded = parse_profile(text, "press.yaml");
  REQUIRE(loaded.problems.size() == 1);
  CHECK(loaded.problems[0].place == "press.yaml:" + std::to_string(line) + ":" + std::to_string(column));
}

TEST_CASE("All faults of a profile are told at once") {
  std::string text = replaced(reference_text(), "table: input", "table: coils");
  text = replaced(text, "guard_closed: 1", "guard_closed: 99");
  text = replaced(text, "scale: 0.1,   unit: deg", "scale: 0.1,   unit: furlong");
  CHECK(parse_profile(text, "press.yaml").problems.size() == 3);
}

TEST_CASE("A text that is no profile is refused, whatever it is") {
  for (const char* text : {"", "7", "[1, 2]", "profile: x", "{", "a: b: c", "signals: [1]", "read: 4",
                           "order: {}", "samples: {address: {}}", "station_beat: 3"}) {
    INFO(text);
    CHECK_FALSE(parse_profile(text, "press.yaml").ok());
  }
  // Cut short anywhere, a profile is refused or complete, and never a crash.
  const std::string good = reference_text();
  for (std::size_t length = 0; length < good.size() - 40; length += 7)
    CHECK_FALSE(parse_profile(good.substr(0, length), "press.yaml").ok());
  CHECK_FALSE(load_profile("/nonexistent/press.yaml").ok());
  CHECK(load_profile("/nonexistent/press.yaml").problems[0].place == "/nonexistent/press.yaml");
}
