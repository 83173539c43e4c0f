#include "record/trace_codec.hpp"

#include <fmt/format.h>
#include <zstd.h>

#include <array>
#include <bit>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <stdexcept>
#include <utility>

#include "record/bytes.hpp"

namespace shankwright::record {
namespace {

using ports::Sample;

constexpr char as_counts = 1;
constexpr char as_doubles = 2;
constexpr char as_columns = 3;
constexpr std::size_t header_size = 5;
constexpr std::size_t least_size = 3;     // of a sample as counts, in rows or in columns
constexpr std::size_t doubles_size = 20;  // of a sample as doubles
// Two minutes at 2 ms. Packed bytes can unfold to any size, so the size is bounded before they are asked.
constexpr std::uint32_t most_in_columns = 65'536;
constexpr std::size_t most_size = 5 + 3 + 3;  // of a sample in columns, before packing
// Levels 11 to 19 save three bytes in a hundred and take more than ten times as long.
constexpr int packing_level = 1;
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

Sample as_sample(const Counts& row) {
  return {static_cast<std::uint32_t>(row.time), static_cast<double>(row.pressure) / counts_a_bar,
          static_cast<double>(row.gap) / counts_a_mm};
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

void put_counts(std::string& out, const std::vector<Counts>& counts) {
  Counts before{};
  for (const auto& row : counts) {
    put_varint(out, row.time - before.time);
    put_varint(out, row.pressure - before.pressure);
    put_varint(out, row.gap - before.gap);
    before = row;
  }
}

template <typename Value>
void put_column(std::string& out, const std::vector<Counts>& counts, Value value) {
  std::int64_t before = 0, step_before = 0;
  for (const auto& row : counts) {
    const auto step = row.*value - before;
    put_varint(out, step - step_before);
    before = row.*value;
    step_before = step;
  }
}

// Making a context costs more than packing a bite.
ZSTD_CCtx* packer() {
  thread_local const std::unique_ptr<ZSTD_CCtx, decltype(&ZSTD_freeCCtx)> context(ZSTD_createCCtx(),
                                                                                  &ZSTD_freeCCtx);
  return context.get();
}

// Nothing when the columns are too many or cannot be packed.
std::optional<std::string> packed_columns(const std::vector<Counts>& counts) {
  if (counts.size() > most_in_columns) return std::nullopt;
  std::string columns;
  columns.reserve(counts.size() * 4);
  put_column(columns, counts, &Counts::time);
  put_column(columns, counts, &Counts::pressure);
  put_column(columns, counts, &Counts::gap);
  std::string out(ZSTD_compressBound(columns.size()), '\0');
  auto* const context = packer();
  if (context == nullptr) return std::nullopt;
  const auto size =
      ZSTD_compressCCtx(context, out.data(), out.size(), columns.data(), columns.size(), packing_level);
  if (ZSTD_isError(size) != 0) return std::nullopt;
  out.resize(size);
  return out;
}

void put_doubles(std::string& out, const std::vector<Sample>& samples) {
  for (const auto& sample : samples) {
    put_u32(out, sample.time_ms);
    put_u64(out, std::bit_cast<std::uint64_t>(sample.pressure_bar));
    put_u64(out, std::bit_cast<std::uint64_t>(sample.gap_mm));
  }
}

bool take_next(std::string_view& in, std::int64_t& value, std::int64_t most) {
  const auto difference = take_varint(in);
  if (!difference || *difference < -most || *difference > most) return false;
  value += *difference;
  return value >= 0 && value <= most;
}

std::optional<std::vector<Sample>> take_counts(std::string_view in, std::uint32_t count) {
  std::vector<Sample> out(count);
  Counts row{};
  for (auto& sample : out) {
    if (!take_next(in, row.time, std::numeric_limits<std::uint32_t>::max()) ||
        !take_next(in, row.pressure, std::numeric_limits<std::uint16_t>::max()) ||
        !take_next(in, row.gap, std::numeric_limits<std::uint16_t>::max()))
      return std::nullopt;
    sample = as_sample(row);
  }
  return in.empty() ? std::optional(std::move(out)) : std::nullopt;
}

bool take_column(std::string_view& in, std::vector<Counts>& counts, std::int64_t Counts::*value,
                 std::int64_t most) {
  std::int64_t step = 0, before = 0;
  for (auto& row : counts) {
    const auto change = take_varint(in);
    if (!change || *change < -2 * most || *change > 2 * most) return false;
    step += *change;
    before += step;
    if (before < 0 || before > most) return false;
    row.*value = before;
  }
  return true;
}

std::optional<std::vector<Sample>> take_columns(std::string_view in, std::uint32_t count) {
  const auto size = ZSTD_getFrameContentSize(in.data(), in.size());
  if (size == ZSTD_CONTENTSIZE_UNKNOWN || size == ZSTD_CONTENTSIZE_ERROR || size < count * least_size ||
      size > count * most_size)
    return std::nullopt;
  std::string columns(static_cast<std::size_t>(size), '\0');
  if (ZSTD_decompress(columns.data(), columns.size(), in.data(), in.size()) != columns.size())
    return std::nullopt;
  std::string_view rest = columns;
  std::vector<Counts> counts(count);
  constexpr auto register_most = std::numeric_limits<std::uint16_t>::max();
  if (!take_column(rest, counts, &Counts::time, std::numeric_limits<std::uint32_t>::max()) ||
      !take_column(rest, counts, &Counts::pressure, register_most) ||
      !take_column(rest, counts, &Counts::gap, register_most) || !rest.empty())
    return std::nullopt;
  std::vector<Sample> out;
  out.reserve(count);
  for (const auto& row : counts) out.push_back(as_sample(row));
  return out;
}

std::optional<std::vector<Sample>> take_doubles(std::string_view in, std::uint32_t count) {
  if (in.size() != count * doubles_size) return std::nullopt;
  std::vector<Sample> out(count);
  for (auto& sample : out) {
    sample.time_ms = take_u32(in);
    sample.pressure_bar = std::bit_cast<double>(take_u64(in));
    sample.gap_mm = std::bit_cast<double>(take_u64(in));
  }
  return out;
}

}  // namespace

std::string encode_trace(const std::vector<Sample>& samples) {
  if (samples.size() > std::numeric_limits<std::uint32_t>::max())
    throw std::logic_error("more samples than a count holds");
  const auto with_header = [&](char format) {
    std::string out(1, format);
    put_u32(out, static_cast<std::uint32_t>(samples.size()));
    return out;
  };
  const auto counts = in_counts(samples);
  if (!counts) {
    auto out = with_header(as_doubles);
    put_doubles(out, samples);
    return out;
  }
  const auto columns = packed_columns(*counts);
  if (columns && columns->size() < samples.size() * least_size) return with_header(as_columns) + *columns;
  auto out = with_header(as_counts);
  put_counts(out, *counts);
  if (columns && header_size + columns->size() < out.size()) return with_header(as_columns) + *columns;
  return out;
}

std::uint32_t sample_count(std::string_view bytes) {
  if (bytes.size() < header_size) return 0;
  bytes.remove_prefix(1);
  return take_u32(bytes);
}

Result<std::vector<Sample>> decode_trace(std::string_view bytes) {
  const Problem damaged{"trace", fmt::format("{} bytes that do not fit their own count", bytes.size()),
                        "the samples of one bite as they were written; the file has been damaged or altered"};
  if (bytes.size() < header_size) return damaged;
  const char format = bytes.front();
  const auto count = sample_count(bytes);
  const auto rest = bytes.substr(header_size);
  std::optional<std::vector<Sample>> samples;
  // A damaged count is refused before memory is asked for.
  if (format == as_columns) {
    if (count > most_in_columns) return damaged;
    samples = take_columns(rest, count);
  } else if (format == as_counts || format == as_doubles) {
    if (count > rest.size() / least_size) return damaged;
    samples = format == as_counts ? take_counts(rest, count) : take_doubles(rest, count);
  } else {
    return Problem{"trace", fmt::format("format {}", static_cast<int>(format)),
                   "format 1, 2 or 3; use a newer version"};
  }
  if (!samples) return damaged;
  return std::move(*samples);
}

}  // namespace shankwright::record
