#include "record/trace_codec.hpp"

#include <catch2/catch.hpp>

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
  CHECK(bytes[0] == 1);
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
  CHECK(bytes[0] == 1);
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

TEST_CASE("a trace at register resolution takes about three bytes a sample") {
  std::vector<Sample> samples;
  for (std::uint32_t index = 0; index < 300; ++index)
    samples.push_back(
        {index * 2, static_cast<double>(index * 9 % 60 + index) / 10.0, (3000 - index * 10) / 1000.0});
  CHECK(encode_trace(samples).size() < 960);
}

TEST_CASE("bytes that do not fit their count are a problem and ask for no memory") {
  std::mt19937_64 random(7);
  const auto samples = record_test::random_trace(random, 200);
  for (const auto& bytes : {encode_trace(samples), encode_trace({{0, 0.05, 1}, {2, 0.05, 1}})}) {
    for (std::size_t length = 0; length < bytes.size(); ++length)
      REQUIRE_FALSE(decode_trace(std::string_view(bytes).substr(0, length)).ok());
    CHECK_FALSE(decode_trace(bytes + '\0').ok());
    auto many = bytes;
    many.replace(1, 4, "\xff\xff\xff\xff");
    CHECK_FALSE(decode_trace(many).ok());
    auto unknown = bytes;
    unknown[0] = 3;
    const auto refused = decode_trace(unknown);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.problem().found == "format 3");
  }
}

TEST_CASE("random bytes are never read outside their bounds") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  int read = 0;
  for (int round = 0; round < 20'000; ++round) {
    auto bytes = record_test::random_text(random, 60);
    if (bytes.size() >= 5) {
      bytes[0] = static_cast<char>(1 + round % 2);
      bytes.replace(1, 4, std::string({static_cast<char>(round % 12), 0, 0, 0}));
    }
    const auto back = decode_trace(bytes);
    read += back.ok();
    // What reads at all must fit the registers or be whole doubles; written again it reads the same.
    if (back.ok() && bytes[0] == 1)
      REQUIRE(record_test::good(decode_trace(encode_trace(back.value()))) == back.value());
  }
  CHECK(read > 0);
}
