// The sample table of the press map: 25 rows, one every 2 ms from the first motion until the dies are home.
#include <catch2/catch.hpp>

#include "node_rig.hpp"

using namespace shankwright::node;
using namespace shankwright::node::testing;

namespace {

struct Row {
  std::uint16_t time, pressure, gap;
};

/// What a station does that reads every `scan_ms`: appends the rows it has not seen, counts what is missing.
struct Reader {
  std::vector<Row> rows;
  int missing = 0;
  std::uint16_t bite = 0;
  void read(const InputRegisters& image) {
    if (image[input::sample_bite] != bite) {
      bite = image[input::sample_bite];
      rows.clear();
      missing = 0;
      next = 0;
    }
    const int count = image[input::sample_count];
    for (int i = 0; i < count; ++i) {
      const auto sequence = static_cast<std::uint16_t>(image[input::newest_sample] - (count - 1 - i));
      const auto ahead = static_cast<std::int16_t>(sequence - next);
      if (ahead < 0) continue;
      missing += ahead;
      const std::size_t at = input::samples + 3 * static_cast<std::size_t>(i);
      rows.push_back({image[at], image[at + 1], image[at + 2]});
      next = static_cast<std::uint16_t>(sequence + 1);
    }
  }

 private:
  std::uint16_t next = 0;
};

void bite(Rig& rig, Reader& reader, int scan_cycles, const PermitWords& words = {}) {
  rig.at.both_hands_on = false;
  rig.cycle();
  REQUIRE(rig.order(Order::permit_one_bite, words));
  REQUIRE(rig.logic.phase() == Phase::permitted);
  rig.cycle();
  rig.at.both_hands_on = true;
  for (int i = 0; i < 60000 && rig.logic.phase() != Phase::open; ++i) {
    rig.cycle();
    if (i % scan_cycles == 0) reader.read(rig.logic.input_registers());
  }
  REQUIRE(rig.logic.phase() == Phase::open);
  reader.read(rig.logic.input_registers());
}

}  // namespace

TEST_CASE("Read every 40 ms, the samples of a bite have no hole from first motion until the dies are home",
          "[node][samples]") {
  for (int scan_cycles = 1; scan_cycles <= 4; ++scan_cycles) {
    Rig rig;
    Reader reader;
    for (int number = 1; number <= 3; ++number) {
      bite(rig, reader, scan_cycles);
      INFO("scan every " << 10 * scan_cycles << " ms, bite " << number);
      CHECK(reader.bite == number);
      CHECK(rig.reg(input::bite_number) == number);
      CHECK(reader.missing == 0);
      REQUIRE(reader.rows.size() > 100);
      for (std::size_t i = 0; i < reader.rows.size(); ++i) {
        if (reader.rows[i].time != 2 * i) FAIL("row " << i << " bears time " << reader.rows[i].time);
      }
      CHECK(reader.rows.front().gap == 12000);
      CHECK(reader.rows.back().gap >= 11950);
      int at_target = 0;
      std::uint16_t peak = 0, least = 65535;
      for (const Row& row : reader.rows) {
        at_target += row.pressure >= 5000 ? 1 : 0;
        peak = std::max(peak, row.pressure);
        least = std::min(least, row.gap);
      }
      CHECK(peak == rig.reg(input::peak_pressure));
      CHECK(least == rig.reg(input::least_gap));
      CHECK(2 * at_target == rig.reg(input::dwell_done));
    }
  }
}

TEST_CASE("Read every 60 ms, a bite shows holes by its sequence numbers", "[node][samples]") {
  Rig rig;
  Reader reader;
  bite(rig, reader, 6);
  CHECK(reader.missing > 0);
}

TEST_CASE("Samples the sampling card lost are skipped numbers, never made-up rows", "[node][samples]") {
  Rig rig;
  Reader reader;
  static int count;
  count = 0;
  rig.tamper = [](Sensors& at) { at.sampler_alive = ++count % 50 != 0; };
  bite(rig, reader, 1);
  CHECK(reader.missing > 3);
  // Rows before a hole leave the table with it, so up to a whole scan may go with one lost sample. What is
  // left is exactly what the times say.
  int missing = 0;
  for (std::size_t i = 1; i < reader.rows.size(); ++i) {
    missing += (reader.rows[i].time - reader.rows[i - 1].time) / 2 - 1;
  }
  CHECK(missing + reader.rows.front().time / 2 == reader.missing);
}

TEST_CASE("Sequence numbers and sample times wrap in a bite longer than the registers count",
          "[node][samples]") {
  NodeSettings settings;
  settings.dwell_ms_max = 65535;
  Rig rig(settings);
  Reader reader;
  std::size_t rows = 0;
  rig.cycle();
  // 65 s of dwell and a minute on the way: more than 65.536 s of samples, each read once.
  rig.tamper = [](Sensors& at) {
    if (at.gap_mm == 0) at.gap_mm = 0.01;
  };
  bite(rig, reader, 4, {5000, 6000, 65535, 50, 60000, 3000, 101});
  rows = reader.rows.size();
  CHECK(reader.missing == 0);
  CHECK(rows > 32768);
  CHECK(reader.rows[32768].time == 0);  // 65536 ms
  CHECK(rig.reg(input::dwell_done) == 65535);
}

TEST_CASE("Bite numbers wrap and the strokes in the press's life carry on past sixteen bits",
          "[node][samples]") {
  NodeSettings settings;
  settings.bites_before = 65534;
  settings.strokes_before = 65535;
  Rig rig(settings);
  Reader reader;
  bite(rig, reader, 2);
  CHECK(rig.reg(input::bite_number) == 65535);
  CHECK(rig.reg(input::sample_bite) == 65535);
  CHECK(rig.reg(input::stroke_total) == 1);
  CHECK(rig.reg(input::stroke_total + 1) == 0);
  bite(rig, reader, 2);
  CHECK(rig.reg(input::bite_number) == 0);
  CHECK(rig.reg(input::sample_bite) == 0);
  CHECK(rig.reg(input::stroke_total + 1) == 1);
  CHECK(reader.missing == 0);
}

TEST_CASE("Status bits, signed values and the reserved registers are where the page puts them",
          "[node][samples]") {
  for (unsigned bits = 0; bits < 1u << 9; ++bits) {
    NodeSettings settings;
    settings.mark_sensor_fitted = (bits & 1u) != 0;
    settings.angle_encoder_fitted = (bits & 2u) != 0;
    settings.position_sensor_fitted = (bits & 4u) != 0;
    Rig rig(settings);
    rig.at.guard_closed = (bits & 8u) != 0;
    rig.at.both_hands_on = (bits & 16u) != 0;
    rig.at.shank_present = (bits & 32u) != 0;
    rig.at.mark_seen = (bits & 64u) != 0;
    rig.at.remote_selected = (bits & 128u) != 0;
    rig.at.pump_running = (bits & 256u) != 0;
    rig.at.edge_distance_mm = -1.25;
    rig.at.angle_deg = -0.1;
    rig.at.oil_temperature_c = 41.5;
    rig.sample();
    const auto bit = [](bool on, unsigned at) { return on ? 1u << at : 0u; };
    const unsigned expected = bit(true, 0) | bit(rig.at.guard_closed, 1) | bit(rig.at.both_hands_on, 2) |
                              bit(rig.at.pump_running, 3) | bit(true, 4) | bit(rig.at.shank_present, 6) |
                              bit(rig.at.mark_seen && settings.mark_sensor_fitted, 7) |
                              bit(rig.at.remote_selected, 8) | bit(settings.mark_sensor_fitted, 9) |
                              bit(settings.angle_encoder_fitted, 10) |
                              bit(settings.position_sensor_fitted, 11);
    if (rig.reg(4) != expected) FAIL("status " << rig.reg(4) << " for " << bits);
    REQUIRE(rig.reg(10) == (settings.position_sensor_fitted ? 65536 - 125 : 0));
    REQUIRE(rig.reg(6) == (settings.angle_encoder_fitted ? 3599 : 0));
    REQUIRE(rig.reg(7) == 415);
    REQUIRE(rig.reg(0) == 1);
    REQUIRE(rig.reg(23) == 0);
    REQUIRE(rig.reg(24) == 0);
    REQUIRE(rig.reg(5) == 101);
  }
}
