#include "record/trace_codec.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>
#include <limits>

#include "scratch_record.hpp"

using namespace shankwright;
using namespace shankwright::record;
using ports::Sample;

namespace {
bool same(const std::vector<Sample>& left, const std::vector<Sample>& right) {
  return left == right;
}
}  // namespace

TEST_CASE("every register value of pressure and gap comes back exactly") {
  std::vector<Sample> samples;
  for (std::uint32_t count = 0; count <= 65535; ++count)
    samples.push_back({count * 2, count / 10.0, (65535 - count) / 1000.0});
  const auto bytes = encode_trace(samples);
  CHECK(bytes[0] == 3);
  CHECK(sample_count(bytes) == 65536);
  CHECK(same(record_test::good(decode_trace(bytes)), samples));
}

TEST_CASE("jumps between the extremes of every register come back exactly") {
  std::vector<Sample> samples;
  const auto latest = std::numeric_limits<std::uint32_t>::max();
  for (const std::uint32_t time : {0U, latest, 1U, 65535U, 65536U, latest - 1, 0U})
    for (const double pressure : {0.0, 6553.5, 0.1})
      for (const double gap : {65.535, 0.0, 0.001}) samples.push_back({time, pressure, gap});
  CHECK(same(record_test::good(decode_trace(encode_trace(samples))), samples));
}

TEST_CASE("random traces come back exactly") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (int round = 0; round < 300; ++round) {
    const auto samples = record_test::random_trace(random, 600);
    REQUIRE(same(record_test::good(decode_trace(encode_trace(samples))), samples));
  }
}

TEST_CASE("a value scaled by multiplying is the same register count as one scaled by dividing") {
  std::vector<Sample> multiplied, divided;
  for (std::uint32_t count = 0; count <= 65535; ++count) {
    multiplied.push_back({0, count * 0.1, count * 0.001});
    divided.push_back({0, count / 10.0, count / 1000.0});
  }
  const auto bytes = encode_trace(multiplied);
  CHECK(bytes[0] == 3);
  CHECK(same(record_test::good(decode_trace(bytes)), divided));
}

TEST_CASE("values finer or wider than the registers are kept to the last bit") {
  for (const double odd :
       {350.05, -0.1, 6553.6, 1e-9, 1e300, -0.0, std::numeric_limits<double>::infinity()}) {
    for (const auto& samples :
         {std::vector<Sample>{{0, 1.0, 1.0}, {2, odd, 1.0}}, {{0, 1.0, odd}, {4, 2.5, 0.001}}}) {
      const auto bytes = encode_trace(samples);
      CHECK(bytes[0] == 2);
      const auto back = record_test::good(decode_trace(bytes));
      CHECK(same(back, samples));
      for (std::size_t index = 0; index < samples.size(); ++index) {
        CHECK(std::signbit(back[index].pressure_bar) == std::signbit(samples[index].pressure_bar));
        CHECK(std::signbit(back[index].gap_mm) == std::signbit(samples[index].gap_mm));
      }
    }
  }
  const auto unknown = record_test::good(decode_trace(encode_trace({{0, std::nan(""), 1.0}})));
  CHECK(std::isnan(unknown.at(0).pressure_bar));
}

namespace {

// A bite as a press shows it: noisy approach, rise, dwell and opening.
std::vector<Sample> bite(std::uint64_t seed, std::uint32_t count) {
  std::mt19937_64 random(seed);
  std::uniform_int_distribution<int> noise(-2, 2);
  std::vector<Sample> out;
  for (std::uint32_t index = 0; index < count; ++index) {
    const double part = static_cast<double>(index) / count;
    const double pressure = part < 0.3 ? 20 : part < 0.6 ? 20 + 6000 * (part - 0.3) : 1820;
    const double gap = part < 0.6 ? 3000 - 5000 * part : 0;
    out.push_back({index * 2, (std::round(pressure) + noise(random)) / 10,
                   (std::max(0.0, std::round(gap)) + noise(random) + 2) / 1000});
  }
  return out;
}

std::string bytes_from(std::initializer_list<int> values) {
  std::string out;
  for (const int value : values) out += static_cast<char>(value);
  return out;
}

}  // namespace

TEST_CASE("a bite with noise in its last digits takes about one byte a sample") {
  const auto samples = bite(5, 900);
  const auto bytes = encode_trace(samples);
  CHECK(bytes[0] == 3);
  CHECK(bytes.size() < 1200);
  CHECK(same(record_test::good(decode_trace(bytes)), samples));
}

TEST_CASE("few samples stay in rows, where packing has nothing to gain; many more than a bite's too") {
  CHECK(encode_trace({})[0] == 1);
  CHECK(encode_trace({{0, 0.3, 12}, {2, 0.4, 11.9}})[0] == 1);
  const auto long_one = bite(6, 65'537);
  const auto bytes = encode_trace(long_one);
  CHECK(bytes[0] == 1);
  CHECK(same(record_test::good(decode_trace(bytes)), long_one));
}

TEST_CASE("traces written by earlier versions read as they were") {
  // By hand from the description in trace_codec.hpp: 0 and 6, 300 counts; then 2 ms, one count down, 61 up.
  const auto rows = bytes_from({1, 2, 0, 0, 0, 0x00, 0x0c, 0xd8, 0x04, 0x04, 0x01, 0x7a});
  CHECK(same(record_test::good(decode_trace(rows)), {{0, 0.6, 0.3}, {2, 0.5, 0.361}}));
  auto doubles = bytes_from({2, 1, 0, 0, 0, 7, 0, 0, 0});
  doubles += bytes_from({0, 0, 0, 0, 0, 0, 0xf8, 0x3f});  // 1.5
  doubles += bytes_from({0, 0, 0, 0, 0, 0, 0x04, 0xc0});  // -2.5
  CHECK(same(record_test::good(decode_trace(doubles)), {{7, 1.5, -2.5}}));
}

TEST_CASE("packed columns are read as described, also from another packer") {
  // RFC 8878: magic, single segment with one byte of content size, one raw block that is the last.
  const auto frame = [](const std::string& columns) {
    const auto size = static_cast<int>(columns.size());
    return bytes_from({0x28, 0xb5, 0x2f, 0xfd, 0x20, size, (size << 3) | 1, 0, 0}) + columns;
  };
  // Times 0, 2, 4; pressures 5, 6, 6; gaps 100, 90, 85, as second differences, zigzag-folded.
  const auto columns = bytes_from({0, 4, 0, 10, 7, 1, 0xc8, 1, 0xdb, 1, 10});
  const auto bytes = bytes_from({3, 3, 0, 0, 0}) + frame(columns);
  CHECK(same(record_test::good(decode_trace(bytes)), {{0, 0.5, 0.1}, {2, 0.6, 0.09}, {4, 0.6, 0.085}}));
  CHECK_FALSE(decode_trace(bytes_from({3, 3, 0, 0, 0}) + frame(columns + '\0')).ok());
  CHECK_FALSE(decode_trace(bytes_from({3, 4, 0, 0, 0}) + frame(columns)).ok());
  CHECK_FALSE(
      decode_trace(bytes_from({3, 3, 0, 0, 0}) + frame(bytes_from({0, 4, 1, 10, 7, 1, 1, 1, 1, 1, 10})))
          .ok());
}

TEST_CASE("bytes that do not fit their count are a problem and ask for no memory") {
  std::mt19937_64 random(7);
  const auto samples = record_test::random_trace(random, 200);
  const auto packed = encode_trace(bite(8, 300));
  REQUIRE(packed[0] == 3);
  for (const auto& bytes : {encode_trace(samples), packed, encode_trace({{0, 0.5, 1}}),
                            encode_trace({{0, 0.05, 1}, {2, 0.05, 1}})}) {
    for (std::size_t length = 0; length < bytes.size(); ++length)
      REQUIRE_FALSE(decode_trace(std::string_view(bytes).substr(0, length)).ok());
    CHECK_FALSE(decode_trace(bytes + '\0').ok());
    for (const auto* count : {"\xff\xff\xff\xff", "\xff\xff\x00\x00", "\x00\x00\x01\x00"}) {
      auto many = bytes;
      many.replace(1, 4, count, 4);
      CHECK_FALSE(decode_trace(many).ok());
    }
    auto unknown = bytes;
    unknown[0] = 4;
    const auto refused = decode_trace(unknown);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.problem().found == "format 4");
  }
}

TEST_CASE("random bytes are never read outside their bounds") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  const auto packed = encode_trace(bite(seed, 60));
  REQUIRE(packed[0] == 3);
  int read = 0, read_packed = 0;
  for (int round = 0; round < 30'000; ++round) {
    auto bytes = record_test::random_text(random, 60);
    if (round % 3 == 2) {
      // A whole trace with one to three bytes altered behind its count: pure dice never begin a frame.
      bytes = packed;
      for (int change = 0; change <= round % 4 % 3; ++change)
        bytes[std::uniform_int_distribution<std::size_t>(5, bytes.size() - 1)(random)] =
            static_cast<char>(std::uniform_int_distribution<int>(0, 255)(random));
    } else if (bytes.size() >= 5) {
      bytes[0] = static_cast<char>(1 + round % 3);
      bytes.replace(1, 4, std::string({static_cast<char>(round % 12), 0, 0, 0}));
    }
    const auto back = decode_trace(bytes);
    read += back.ok();
    read_packed += back.ok() && bytes[0] == 3;
    // What reads at all must fit the registers or be whole doubles; written again it reads the same.
    if (back.ok() && bytes[0] != 2)
      REQUIRE(record_test::good(decode_trace(encode_trace(back.value()))) == back.value());
  }
  CHECK(read > read_packed);
  CHECK(read_packed > 0);
}
