#include "record/trace_codec.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>
#include <stdexcept>

#include "record/bytes.hpp"

namespace shankwright::record {
namespace {

using ports::Sample;

constexpr char as_counts = 1;
constexpr char as_doubles = 2;
constexpr std::size_t header_size = 5;
constexpr std::size_t most_bytes_a_sample = 20;  // of either format, unpacked
constexpr double counts_a_bar = 10;
constexpr double counts_a_mm = 1000;

struct Counts {
  std::int64_t time, pressure, gap;
};

std::optional<std::int64_t> whole_count(double value, double counts_a_unit) {
  const double counts = value * counts_a_unit;
  const double whole = std::round(counts);
  // A driver may scale by multiplying or by dividing: the two differ in the last bit, a finer profile by far
  // more.
  if (!(std::abs(counts - whole) <= whole * 1e-14) || whole < 0 ||
      whole > std::numeric_limits<std::uint16_t>::max())
    return std::nullopt;
  if (whole == 0 && std::signbit(value)) return std::nullopt;
  return static_cast<std::int64_t>(whole);
}

std::optional<std::vector<Counts>> in_counts(const std::vector<Sample>& samples) {
  std::vector<Counts> out;
  out.reserve(samples.size());
  for (const auto& sample : samples) {
    const auto pressure = whole_count(sample.pressure_bar, counts_a_bar);
    const auto gap = whole_count(sample.gap_mm, counts_a_mm);
    if (!pressure || !gap) return std::nullopt;
    out.push_back({sample.time_ms, *pressure, *gap});
  }
  return out;
}

void put_varint(std::string& out, std::int64_t difference) {
  auto folded = (static_cast<std::uint64_t>(difference) << 1) ^ static_cast<std::uint64_t>(difference >> 63);
  for (; folded >= 0x80; folded >>= 7) out += static_cast<char>((folded & 0x7f) | 0x80);
  out += static_cast<char>(folded);
}

std::optional<std::int64_t> take_varint(std::string_view& in) {
  std::uint64_t folded = 0;
  for (unsigned shift = 0; shift < 63; shift += 7) {
    if (in.empty()) return std::nullopt;
    const auto byte = static_cast<unsigned char>(in.front());
    in.remove_prefix(1);
    folded |= static_cast<std::uint64_t>(byte & 0x7fU) << shift;
    if (byte < 0x80) return static_cast<std::int64_t>(folded >> 1) ^ -static_cast<std::int64_t>(folded & 1);
  }
  return std::nullopt;
}

std::string counts_as_columns(const std::vector<Counts>& counts) {
  std::string out;
  for (const auto column : {&Counts::time, &Counts::pressure, &Counts::gap}) {
    std::int64_t before = 0;
    for (const auto& row : counts) {
      put_varint(out, row.*column - before);
      before = row.*column;
    }
  }
  return out;
}

std::string doubles_as_columns(const std::vector<Sample>& samples) {
  std::string out;
  for (const auto& sample : samples) put_u32(out, sample.time_ms);
  for (const auto& sample : samples) put_u64(out, std::bit_cast<std::uint64_t>(sample.pressure_bar));
  for (const auto& sample : samples) put_u64(out, std::bit_cast<std::uint64_t>(sample.gap_mm));
  return out;
}

std::string packed(const std::string& plain) {
  auto size = compressBound(static_cast<uLong>(plain.size()));
  std::string out(size, '\0');
  if (compress2(reinterpret_cast<Bytef*>(out.data()), &size, reinterpret_cast<const Bytef*>(plain.data()),
                static_cast<uLong>(plain.size()), Z_DEFAULT_COMPRESSION) != Z_OK)
    throw std::bad_alloc();  // the only failure left: the buffer has the size zlib asked for
  out.resize(size);
  return out;
}

std::optional<std::string> unpacked(std::string_view bytes, std::size_t most) {
  auto size = static_cast<uLongf>(most);
  std::string out(most, '\0');
  auto used = static_cast<uLong>(bytes.size());
  if (uncompress2(reinterpret_cast<Bytef*>(out.data()), &size, reinterpret_cast<const Bytef*>(bytes.data()),
                  &used) != Z_OK ||
      used != bytes.size())
    return std::nullopt;
  out.resize(size);
  return out;
}

std::optional<std::vector<Sample>> samples_from_counts(std::string_view columns, std::uint32_t count) {
  std::vector<Counts> rows(count);
  for (const auto column : {&Counts::time, &Counts::pressure, &Counts::gap}) {
    const std::int64_t most = column == &Counts::time ? std::numeric_limits<std::uint32_t>::max()
                                                      : std::numeric_limits<std::uint16_t>::max();
    std::int64_t before = 0;
    for (auto& row : rows) {
      const auto difference = take_varint(columns);
      if (!difference || *difference < -most || *difference > most) return std::nullopt;
      before += *difference;
      if (before < 0 || before > most) return std::nullopt;
      row.*column = before;
    }
  }
  if (!columns.empty()) return std::nullopt;
  std::vector<Sample> out;
  out.reserve(count);
  for (const auto& row : rows)
    out.push_back({static_cast<std::uint32_t>(row.time), static_cast<double>(row.pressure) / counts_a_bar,
                   static_cast<double>(row.gap) / counts_a_mm});
  return out;
}

std::optional<std::vector<Sample>> samples_from_doubles(std::string_view columns, std::uint32_t count) {
  if (columns.size() != std::size_t{count} * most_bytes_a_sample) return std::nullopt;
  std::vector<Sample> out(count);
  for (auto& sample : out) sample.time_ms = take_u32(columns);
  for (auto& sample : out) sample.pressure_bar = std::bit_cast<double>(take_u64(columns));
  for (auto& sample : out) sample.gap_mm = std::bit_cast<double>(take_u64(columns));
  return out;
}

}  // namespace

std::string encode_trace(const std::vector<Sample>& samples) {
  if (samples.size() > std::numeric_limits<std::uint32_t>::max())
    throw std::logic_error("more samples than a count holds");
  const auto counts = in_counts(samples);
  std::string out(1, counts ? as_counts : as_doubles);
  put_u32(out, static_cast<std::uint32_t>(samples.size()));
  return out + packed(counts ? counts_as_columns(*counts) : doubles_as_columns(samples));
}

std::uint32_t sample_count(std::string_view bytes) {
  if (bytes.size() < header_size) return 0;
  bytes.remove_prefix(1);
  return take_u32(bytes);
}

Result<std::vector<Sample>> decode_trace(std::string_view bytes) {
  const Problem damaged{"trace", fmt::format("{} bytes that do not unpack to their own count", bytes.size()),
                        "the samples of one bite as they were written; the file has been damaged or altered"};
  if (bytes.size() < header_size) return damaged;
  const char format = bytes.front();
  if (format != as_counts && format != as_doubles)
    return Problem{"trace", fmt::format("format {}", static_cast<int>(format)),
                   "format 1 or 2; use a newer version"};
  const auto count = sample_count(bytes);
  const auto stream = bytes.substr(header_size);
  // zlib packs at most about 1 to 1032: a damaged count is refused before memory is asked for.
  if (std::size_t{count} * 3 > stream.size() * 1100) return damaged;
  const auto columns = unpacked(stream, std::size_t{count} * most_bytes_a_sample + 1);
  if (!columns) return damaged;
  const auto samples =
      format == as_counts ? samples_from_counts(*columns, count) : samples_from_doubles(*columns, count);
  if (!samples) return damaged;
  return *samples;
}

}  // namespace shankwright::record
