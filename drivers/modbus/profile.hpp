#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "quantity/result.hpp"

/// A press's registers as data: which table, address, type, scale and word order every signal has. Read from
/// drivers/profiles/*.yaml; the driver has no address of its own.
namespace shankwright::modbus {

enum class RegisterType : std::uint8_t { u16, i16, u32, i32 };
enum class WordOrder : std::uint8_t { high_word_first, low_word_first };

/// Everything the driver reads in one scan, in the order of the map.
enum class Signal : std::uint8_t {
  map_version,
  node_beat,
  phase,
  fault_code,
  status,
  die_tag,
  angle,
  oil_temperature,
  pressure,
  gap,
  edge_distance,
  permit_echo,
  permit_state,
  bite_number,
  stroke_total,
  peak_pressure,
  dwell_done,
  least_gap,
  newest_sample,
  sample_count,
  sample_bite,
  refusal
};
inline constexpr std::size_t signal_count = 22;

enum class OrderField : std::uint8_t {
  order,
  order_token,
  target_pressure,
  pressure_limit,
  dwell,
  closed_gap,
  stroke_timeout,
  permit_life,
  expected_die_tag
};
inline constexpr std::size_t order_field_count = 9;

/// Bits of PressScan::status, by their number there.
inline constexpr std::size_t status_bit_count = 12;

/// Counts to values in the driver's own unit (bar, mm, ms, deg, degC). Kept as a quotient, so that 47 counts
/// of 0.1 are 4.7 exactly as written and not 47 times an inexact tenth.
struct Scale {
  double multiplier = 1;
  double divisor = 1;
  [[nodiscard]] double value(std::int64_t counts) const {
    return static_cast<double>(counts) * multiplier / divisor;
  }
  [[nodiscard]] double counts(double value) const { return value * divisor / multiplier; }
};

struct Field {
  std::string name;           ///< as in the profile
  std::uint16_t address = 0;  ///< zero-based; of a sample's field: offset inside the sample
  RegisterType type = RegisterType::u16;
  WordOrder word_order = WordOrder::high_word_first;
  Scale scale;
  std::optional<std::int64_t> beyond_range;  ///< counts that mean "beyond range"
  std::optional<double> constant;            ///< the press has no such signal; this value stands for it
  std::vector<std::pair<std::int64_t, std::int64_t>>
      codes;  ///< the press's number -> the map's; empty: the same
  [[nodiscard]] std::uint16_t registers() const {
    return type == RegisterType::u32 || type == RegisterType::i32 ? 2 : 1;
  }
};

/// Where one status bit is found in the press's status register.
struct StatusBit {
  enum class Source : std::uint8_t { bit, inverted_bit, never, always };
  Source source = Source::never;
  std::uint8_t bit = 0;
};

struct Window {
  std::uint16_t start = 0, count = 0;
};

struct SampleBlock {
  enum class Packing : std::uint8_t {
    first,
    last,
    either
  };  ///< which end is filled while fewer than count are held
  std::uint16_t address = 0, count = 0, registers_each = 0;
  double period_ms = 0;
  Packing packing = Packing::either;
  Field time, pressure, gap;
};

struct Profile {
  std::string name;
  std::uint16_t map_version = 0;
  int read_function = 4;  ///< 4 input registers, 3 holding registers
  std::array<Field, signal_count> signals;
  std::array<StatusBit, status_bit_count> status_bits;
  SampleBlock samples;
  Window read_window;  ///< derived: one request of at most 125 registers covers every signal and sample
  Field station_beat;
  int beat_function = 6;  ///< 6 or 16
  std::array<Field, order_field_count> order;
  Window order_window;                    ///< derived: written in one function-16 request
  std::optional<int> read_back_function;  ///< 3, or empty when the press's holding registers cannot be read
  Window read_back_window;                ///< derived: station beat and order

  [[nodiscard]] const Field& operator[](Signal signal) const {
    return signals[static_cast<std::size_t>(signal)];
  }
  [[nodiscard]] const Field& operator[](OrderField field) const {
    return order[static_cast<std::size_t>(field)];
  }
};

[[nodiscard]] const char* name_of(Signal signal);
[[nodiscard]] const char* name_of(OrderField field);
[[nodiscard]] const char* status_bit_name(std::size_t bit);

/// A profile, or every fault that was found in it (place is file:line:column, counted from 1).
struct LoadedProfile {
  Profile profile;  ///< meaningful only without problems
  std::vector<Problem> problems;
  [[nodiscard]] bool ok() const { return problems.empty(); }
};

[[nodiscard]] LoadedProfile load_profile(const std::string& path);
/// `name` stands for the file in problems.
[[nodiscard]] LoadedProfile parse_profile(const std::string& text, const std::string& name);

}  // namespace shankwright::modbus
