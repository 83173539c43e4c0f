#include <catch2/catch.hpp>

#include <cmath>
#include <functional>
#include <limits>
#include <random>

#include "drivers/modbus/codec.hpp"
#include "other_profile.hpp"

using namespace shankwright;
using namespace shankwright::modbus;
using ports::PressOrder;
using ports::PressScan;

namespace {

const Profile& reference() {
  static const LoadedProfile loaded = load_profile(SOURCE_DIR "/drivers/profiles/reference.yaml");
  REQUIRE(loaded.ok());
  return loaded.profile;
}
const Profile& other() {
  static const LoadedProfile loaded = parse_profile(test::other_profile, "other.yaml");
  REQUIRE(loaded.ok());
  return loaded.profile;
}

struct Decoded {
  PressScan scan;
  HeldSamples held;
};
Decoded decoded(const Profile& profile, const std::vector<std::uint16_t>& window) {
  Decoded out;
  const auto problem = decode(profile, window, out.scan, out.held);
  if (problem) FAIL(problem->text());
  return out;
}

/// How the map's page reads: the scan's value from a register's bits, written without the codec's tables.
struct Reading {
  std::size_t address;
  std::function<double(const PressScan&, const HeldSamples&)> value;
  std::function<double(std::uint16_t)> meant;
};
double plain(std::uint16_t bits) {
  return bits;
}
double tenth(std::uint16_t bits) {
  return bits / 10.0;
}
double thousandth(std::uint16_t bits) {
  return bits / 1000.0;
}

}  // namespace

TEST_CASE("Every input register is read as the map says, over its whole range") {
  const Reading readings[] = {
      {0, [](auto& s, auto&) { return s.map_version; }, plain},
      {1, [](auto& s, auto&) { return s.node_beat; }, plain},
      {2, [](auto& s, auto&) { return s.phase; }, plain},
      {3, [](auto& s, auto&) { return s.fault_code; }, plain},
      {4, [](auto& s, auto&) { return s.status; }, [](std::uint16_t bits) { return bits & 0x0FFF; }},
      {5, [](auto& s, auto&) { return s.die_tag; }, plain},
      {6, [](auto& s, auto&) { return s.angle_deg; }, tenth},
      {7, [](auto& s, auto&) { return s.oil_temperature_c; },
       [](std::uint16_t bits) { return (bits < 32768 ? bits : bits - 65536) / 10.0; }},
      {8, [](auto& s, auto&) { return s.pressure_bar; }, tenth},
      {9, [](auto& s, auto&) { return s.gap_mm; }, thousandth},
      {10, [](auto& s, auto&) { return s.edge_distance_mm; },
       [](std::uint16_t bits) { return (bits < 32768 ? bits : bits - 65536) / 100.0; }},
      {11, [](auto& s, auto&) { return s.permit_echo; }, plain},
      {12, [](auto& s, auto&) { return s.permit_state; }, plain},
      {13, [](auto& s, auto&) { return s.bite_number; }, plain},
      {14, [](auto& s, auto&) { return s.stroke_total; }, [](std::uint16_t bits) { return bits * 65536.0; }},
      {15, [](auto& s, auto&) { return s.stroke_total; }, plain},
      {16, [](auto& s, auto&) { return s.peak_pressure_bar; }, tenth},
      {17, [](auto& s, auto&) { return s.dwell_done_ms; }, plain},
      {18, [](auto& s, auto&) { return s.least_gap_mm; }, thousandth},
      {19, [](auto&, auto& h) { return h.newest; }, plain},
      {21, [](auto&, auto& h) { return h.bite; }, plain},
      {22, [](auto& s, auto&) { return s.refusal; }, plain},
  };
  for (const Reading& reading : readings) {
    std::vector<std::uint16_t> window(100, 0);
    int wrong = 0;
    PressScan scan;
    HeldSamples held;
    for (int bits = 0; bits <= 65535; ++bits) {
      window[reading.address] = static_cast<std::uint16_t>(bits);
      const bool good = !decode(reference(), window, scan, held);
      if (!good || reading.value(scan, held) != reading.meant(static_cast<std::uint16_t>(bits))) ++wrong;
    }
    INFO("register " << reading.address);
    CHECK(wrong == 0);
  }
}

TEST_CASE("A register touches its own signal and no other") {
  const std::vector<std::uint16_t> nothing(100, 0);
  const Decoded base = decoded(reference(), nothing);
  const auto as_numbers = [](const Decoded& d) {
    return std::vector<double>{double(d.scan.map_version),
                               double(d.scan.node_beat),
                               double(d.scan.phase),
                               double(d.scan.fault_code),
                               double(d.scan.status),
                               double(d.scan.die_tag),
                               d.scan.angle_deg,
                               d.scan.oil_temperature_c,
                               d.scan.pressure_bar,
                               d.scan.gap_mm,
                               d.scan.edge_distance_mm,
                               double(d.scan.permit_echo),
                               double(d.scan.permit_state),
                               double(d.scan.bite_number),
                               double(d.scan.stroke_total),
                               d.scan.peak_pressure_bar,
                               d.scan.dwell_done_ms,
                               d.scan.least_gap_mm,
                               double(d.held.newest),
                               double(d.held.samples.size()),
                               double(d.held.bite),
                               double(d.scan.refusal)};
  };
  for (std::size_t address = 0; address < 100; ++address) {
    auto window = nothing;
    window[address] = 25;
    const auto before = as_numbers(base), after = as_numbers(decoded(reference(), window));
    std::size_t changed = 0;
    for (std::size_t i = 0; i < before.size(); ++i) changed += before[i] != after[i];
    INFO("register " << address);
    CHECK(changed == (address <= 22 ? 1 : 0));
  }
}

TEST_CASE("A status bit means the same whatever bit of the press it is") {
  std::vector<std::uint16_t> window(100, 0);
  for (std::size_t bit = 0; bit < 12; ++bit) {
    window[4] = static_cast<std::uint16_t>(1U << bit);
    CHECK(decoded(reference(), window).scan.status == 1U << bit);
  }
  // The other press: guard on bit 14 the other way round, an encoder always fitted, everything else where it
  // says.
  window.assign(100, 0);
  window[217 - 120] = 10;
  const std::size_t status = 215 - 120;
  const unsigned guard = 1U << 1, always = 1U << 10;
  CHECK(decoded(other(), window).scan.status == (guard | always));
  window[status] = 1U << 14;
  CHECK(decoded(other(), window).scan.status == always);
  window[status] = 1U << 15 | 1U << 14;
  CHECK(decoded(other(), window).scan.status == (always | 1U << 0));
  window[status] = 1U << 3 | 1U << 14;
  CHECK(decoded(other(), window).scan.status == (always | 1U << 8));
}

TEST_CASE("Another press's words, units and numbers arrive in the station's own") {
  std::vector<std::uint16_t> window(100, 0);
  const auto at = [&](std::size_t address) -> std::uint16_t& { return window[address - 120]; };
  at(217) = 30;
  at(213) = 0xD090, at(214) = 0x0003;  // 0x0003D090 = 250000 thousandths of a degree, low word first
  at(211) = 35000, at(212) = 0;        // kPa
  at(209) = 4321, at(210) = 0;         // um
  at(207) = 0xFFFF, at(208) = 0xFFF6;  // -10 half micrometres, high word first
  at(202) = 0x2345, at(203) = 0x0001;
  at(201) = 1800;  // 0.02 MPa
  at(200) = 150;   // 10 ms
  at(199) = 1000;  // 0.1 in
  const PressScan scan = decoded(other(), window).scan;
  CHECK(scan.phase == 3);
  CHECK(scan.angle_deg == 250);
  CHECK(scan.pressure_bar == 350);
  CHECK(scan.gap_mm == 4.321);
  CHECK(scan.edge_distance_mm == -0.005);
  CHECK(scan.stroke_total == 0x00012345);
  CHECK(scan.peak_pressure_bar == Approx(360).epsilon(1e-12));
  CHECK(scan.dwell_done_ms == 1500);
  CHECK(scan.least_gap_mm == Approx(2.54).epsilon(1e-12));
  CHECK(scan.oil_temperature_c == 40);
  CHECK(scan.die_tag == 0);
  at(209) = 0xFFFF, at(210) = 0xFFFF;
  at(199) = 0xFFFF;
  CHECK(decoded(other(), window).scan.gap_mm == 65.535);
  CHECK(decoded(other(), window).scan.least_gap_mm == 65.535);
}

TEST_CASE("A register that holds what the map does not know is a problem, never a value") {
  PressScan scan;
  HeldSamples held;
  std::vector<std::uint16_t> window(100, 0);
  for (int count = 0; count <= 65535; ++count) {
    window[20] = static_cast<std::uint16_t>(count);
    const auto problem = decode(reference(), window, scan, held);
    if (problem.has_value() != (count > 25)) FAIL("sample_count " << count);
  }
  const auto problem = decode(reference(), window, scan, held);
  REQUIRE(problem);
  CHECK(problem->place == "sample_count");
  window.assign(100, 0);
  window[217 - 120] = 31;
  const auto unknown = decode(other(), window, scan, held);
  REQUIRE(unknown);
  CHECK(unknown->place == "phase");
  CHECK(unknown->found == "31");
}

TEST_CASE("Samples are read oldest first, whichever end of the block is filled") {
  const auto sample = [](std::size_t i) {
    return std::array<std::uint16_t, 3>{static_cast<std::uint16_t>(65530 + 2 * i),
                                        static_cast<std::uint16_t>(100 + i),
                                        static_cast<std::uint16_t>(9000 - i)};
  };
  for (std::size_t count = 0; count <= 25; ++count) {
    for (const bool last : {false, true}) {
      for (const bool left_over : {false, true}) {
        INFO(count << " samples, packed last: " << last << ", left-overs: " << left_over);
        std::vector<std::uint16_t> window(100, 0);
        // What an earlier bite may have left in the unused end: times that do not run on at the seam.
        if (left_over && count > 1)
          for (std::size_t i = 0; i < 25; ++i)
            for (std::size_t k = 0; k < 3; ++k)
              window[25 + 3 * i + k] = static_cast<std::uint16_t>(7 * (25 - i) + k);
        for (std::size_t i = 0; i < count; ++i)
          for (std::size_t k = 0; k < 3; ++k)
            window[25 + 3 * (i + (last ? 25 - count : 0)) + k] = sample(i)[k];
        window[20] = static_cast<std::uint16_t>(count);
        const HeldSamples held = decoded(reference(), window).held;
        REQUIRE(held.samples.size() == count);
        for (std::size_t i = 0; i < count; ++i) {
          CHECK(held.samples[i].time_ms == sample(i)[0]);
          CHECK(held.samples[i].pressure_bar == sample(i)[1] / 10.0);
          CHECK(held.samples[i].gap_mm == sample(i)[2] / 1000.0);
        }
      }
    }
  }
}

TEST_CASE("An order is written to the map's registers, over every register's whole range") {
  struct Part {
    std::size_t index;
    std::function<void(PressOrder&, int)> set;
  };
  const Part parts[] = {
      {1, [](PressOrder& o, int n) { o.token = static_cast<std::uint16_t>(n); }},
      {2, [](PressOrder& o, int n) { o.target_pressure_bar = n / 10.0; }},
      {3, [](PressOrder& o, int n) { o.pressure_limit_bar = n / 10.0; }},
      {4, [](PressOrder& o, int n) { o.dwell_ms = n; }},
      {5, [](PressOrder& o, int n) { o.closed_gap_mm = n / 1000.0; }},
      {6, [](PressOrder& o, int n) { o.stroke_timeout_ms = n; }},
      {7, [](PressOrder& o, int n) { o.permit_life_ms = n; }},
      {8, [](PressOrder& o, int n) { o.expected_die_tag = static_cast<std::uint16_t>(n); }},
  };
  for (const Part& part : parts) {
    int wrong = 0;
    for (int counts = 0; counts <= 65535; ++counts) {
      PressOrder order;
      order.kind = PressOrder::Kind::withdraw_permit;
      part.set(order, counts);
      std::vector<std::uint16_t> meant(9, 0);
      meant[0] = 2;
      meant[part.index] = static_cast<std::uint16_t>(counts);
      const auto registers = encode(reference(), order);
      if (!registers.ok() || registers.value() != meant) ++wrong;
    }
    INFO("holding register " << part.index + 1);
    CHECK(wrong == 0);
  }
  using Kind = PressOrder::Kind;
  const Kind kinds[] = {Kind::none,      Kind::permit_one_bite, Kind::withdraw_permit,
                        Kind::open_dies, Kind::clear_fault,     Kind::zero_pressure};
  for (std::uint16_t number = 0; number < 6; ++number) {
    PressOrder order;
    order.kind = kinds[number];
    CHECK(encode(reference(), order).value()[0] == number);
  }
}

TEST_CASE("A value that does not fit its register is a problem, never wrapped") {
  const auto refused = [](auto&& change) {
    PressOrder order;
    change(order);
    const auto registers = encode(reference(), order);
    return registers.ok() ? std::string() : registers.problem().place;
  };
  const double infinity = std::numeric_limits<double>::infinity(), nan = std::nan("");
  for (const double bad : {-0.06, 6553.56, 6560.0, 1e300, -1e300, infinity, -infinity, nan}) {
    INFO(bad);
    CHECK(refused([&](auto& o) { o.target_pressure_bar = bad; }) == "target_pressure");
    CHECK(refused([&](auto& o) { o.pressure_limit_bar = bad; }) == "pressure_limit");
  }
  for (const double bad : {-0.6, 65535.6, 65536.0, 1e300, infinity, nan}) {
    INFO(bad);
    CHECK(refused([&](auto& o) { o.dwell_ms = bad; }) == "dwell");
    CHECK(refused([&](auto& o) { o.stroke_timeout_ms = bad; }) == "stroke_timeout");
    CHECK(refused([&](auto& o) { o.permit_life_ms = bad; }) == "permit_life");
  }
  for (const double bad : {-0.0006, 65.5356, 66.0, nan})
    CHECK(refused([&](auto& o) { o.closed_gap_mm = bad; }) == "closed_gap");
  CHECK(refused([](auto& o) { o.target_pressure_bar = 6553.5; }).empty());
  CHECK(refused([](auto& o) { o.target_pressure_bar = 6553.54; }).empty());
}

TEST_CASE("An order reaches another press in its own numbers, and one it does not know is refused") {
  PressOrder order;
  order.kind = PressOrder::Kind::permit_one_bite;
  order.token = 0xBEEF;
  order.target_pressure_bar = 700;
  order.pressure_limit_bar = 720;
  order.dwell_ms = 1500;
  order.closed_gap_mm = 0.05;
  order.stroke_timeout_ms = 8000;
  order.permit_life_ms = 9000;
  order.expected_die_tag = 12;
  const std::vector<std::uint16_t> meant{17, 70000 - 65536, 1, 72000 - 65536, 1, 150, 50, 8000, 9000, 12,
                                         0,  0xBEEF};
  CHECK(encode(other(), order).value() == meant);
  order.kind = PressOrder::Kind::zero_pressure;
  REQUIRE_FALSE(encode(other(), order).ok());
  CHECK(encode(other(), order).problem().place == "order");
}

TEST_CASE("Counts of every type and word order survive writing and reading") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (const RegisterType type :
       {RegisterType::u16, RegisterType::i16, RegisterType::u32, RegisterType::i32}) {
    for (const WordOrder order : {WordOrder::high_word_first, WordOrder::low_word_first}) {
      Field field;
      field.type = type;
      field.word_order = order;
      const auto [least, most] = range_of(type);
      std::vector<std::int64_t> values{least, least + 1, -1, 0, 1, most - 1, most};
      for (int i = 0; i < 2000; ++i)
        values.push_back(std::uniform_int_distribution<std::int64_t>(least, most)(random));
      for (const std::int64_t value : values) {
        if (value < least) continue;
        std::vector<std::uint16_t> window(2, 0);
        put_counts(field, window, 0, value);
        REQUIRE(get_counts(field, window, 0) == value);
      }
      std::vector<std::uint16_t> window(2, 0);
      CHECK_THROWS_AS(put_counts(field, window, 0, most + 1), std::logic_error);
      CHECK_THROWS_AS(put_counts(field, window, 0, least - 1), std::logic_error);
    }
  }
  Field field;
  field.type = RegisterType::u32;
  std::vector<std::uint16_t> window{0x0001, 0x86A0};  // 100000, high word first as the map says
  CHECK(get_counts(field, window, 0) == 100000);
}
