#include "drivers/modbus/codec.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace shankwright::modbus {
namespace {

constexpr double beyond_range_mm =
    65.535;  // ports::Sample: means beyond range whatever the press's own number is

/// Reads the signals of one window and remembers the first fault.
class Reader {
 public:
  Reader(const Profile& profile, std::span<const std::uint16_t> window)
      : profile_(profile), window_(window) {}

  double real(const Field& field, std::size_t index) const {
    if (field.constant) return *field.constant;
    const std::int64_t counts = get_counts(field, window_, index);
    if (field.beyond_range && counts == *field.beyond_range) return beyond_range_mm;
    return field.scale.value(counts);
  }
  double real(Signal signal) const { return real(profile_[signal], index(profile_[signal])); }

  std::int64_t whole(Signal signal, std::int64_t most) {
    const Field& field = profile_[signal];
    std::int64_t counts =
        field.constant ? std::llround(*field.constant) : get_counts(field, window_, index(field));
    if (!field.codes.empty()) {
      const auto known = std::find_if(field.codes.begin(), field.codes.end(),
                                      [&](const auto& code) { return code.first == counts; });
      if (known == field.codes.end()) {
        note({field.name, std::to_string(counts), "one of the numbers listed in the profile's codes"});
        return 0;
      }
      counts = known->second;
    }
    if (counts < 0 || counts > most) {
      note({field.name, std::to_string(counts), "a number from 0 to " + std::to_string(most)});
      return 0;
    }
    return counts;
  }
  std::uint16_t u16(Signal signal) { return static_cast<std::uint16_t>(whole(signal, 65535)); }
  std::size_t index(const Field& field) const {
    return static_cast<std::size_t>(field.address - profile_.read_window.start);
  }
  void note(Problem problem) {
    if (!problem_) problem_ = std::move(problem);
  }
  [[nodiscard]] std::optional<Problem> problem() { return std::move(problem_); }

 private:
  const Profile& profile_;
  std::span<const std::uint16_t> window_;
  std::optional<Problem> problem_;
};

std::uint16_t status_bits(const Profile& profile, std::uint16_t held) {
  unsigned out = 0;
  for (std::size_t i = 0; i < status_bit_count; ++i) {
    const StatusBit& bit = profile.status_bits[i];
    const bool set = ((static_cast<unsigned>(held) >> bit.bit) & 1U) != 0;
    bool value = false;
    switch (bit.source) {
      case StatusBit::Source::bit:
        value = set;
        break;
      case StatusBit::Source::inverted_bit:
        value = !set;
        break;
      case StatusBit::Source::never:
        value = false;
        break;
      case StatusBit::Source::always:
        value = true;
        break;
    }
    if (value) out |= 1U << i;
  }
  return static_cast<std::uint16_t>(out);
}

/// press-map.md says "newest last" and leaves open which end of the block is empty while it is not full. An
/// unused end holds zeros or what an earlier bite left, so its times do not run on; the used one's times do.
bool times_run_on(const SampleBlock& block, std::span<const std::uint16_t> window, std::size_t base,
                  std::size_t first, std::size_t count) {
  const auto counts_at = [&](const Field& field, std::size_t sample) {
    return get_counts(field, window, base + sample * block.registers_each + field.address);
  };
  if (count == 1) {
    return counts_at(block.time, first) != 0 || counts_at(block.pressure, first) != 0 ||
           counts_at(block.gap, first) != 0;
  }
  for (std::size_t i = first + 1; i < first + count; ++i) {
    const auto step = static_cast<std::uint16_t>(counts_at(block.time, i) - counts_at(block.time, i - 1));
    const double step_ms = block.time.scale.value(step);
    if (step_ms <= 0 || step_ms > 2 * block.period_ms) return false;
  }
  return true;
}

void decode_samples(const Profile& profile, std::span<const std::uint16_t> window, std::size_t count,
                    Reader& reader, HeldSamples& held) {
  const SampleBlock& block = profile.samples;
  const std::size_t base = static_cast<std::size_t>(block.address - profile.read_window.start);
  const std::size_t last_packed = block.count - count;
  std::size_t first = block.packing == SampleBlock::Packing::last ? last_packed : 0;
  if (block.packing == SampleBlock::Packing::either && count > 0 && last_packed > 0 &&
      !times_run_on(block, window, base, 0, count) && times_run_on(block, window, base, last_packed, count))
    first = last_packed;
  held.samples.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t at = base + (first + i) * block.registers_each;
    const double time_ms = std::round(reader.real(block.time, at + block.time.address));
    // Time wraps at 16 bits like the map's own register, whatever the press's unit is.
    held.samples[i].time_ms = static_cast<std::uint16_t>(static_cast<std::uint64_t>(std::max(0.0, time_ms)));
    held.samples[i].pressure_bar = reader.real(block.pressure, at + block.pressure.address);
    held.samples[i].gap_mm = reader.real(block.gap, at + block.gap.address);
  }
}

std::int64_t kind_number(ports::PressOrder::Kind kind) {
  using Kind = ports::PressOrder::Kind;
  switch (kind) {  // the numbers of press-map.md, holding register 1
    case Kind::none:
      return 0;
    case Kind::permit_one_bite:
      return 1;
    case Kind::withdraw_permit:
      return 2;
    case Kind::open_dies:
      return 3;
    case Kind::clear_fault:
      return 4;
    case Kind::zero_pressure:
      return 5;
  }
  throw std::logic_error("an order kind without a number");
}

std::optional<Problem> put_value(const Profile& profile, OrderField which, double value,
                                 std::vector<std::uint16_t>& registers) {
  const Field& field = profile[which];
  const auto [least, most] = range_of(field.type);
  const double counts = field.scale.counts(value);
  // Written so that a NaN is refused too.
  const bool fits = std::isfinite(counts) && std::round(counts) >= static_cast<double>(least) &&
                    std::round(counts) <= static_cast<double>(most);
  if (!fits)
    return Problem{field.name, std::to_string(value),
                   "a value from " + std::to_string(field.scale.value(least)) + " to " +
                       std::to_string(field.scale.value(most)) +
                       ", which is what the press's register holds"};
  put_counts(field, registers, static_cast<std::size_t>(field.address - profile.order_window.start),
             std::llround(counts));
  return std::nullopt;
}

}  // namespace

std::pair<std::int64_t, std::int64_t> range_of(RegisterType type) {
  switch (type) {
    case RegisterType::u16:
      return {0, 65535};
    case RegisterType::i16:
      return {-32768, 32767};
    case RegisterType::u32:
      return {0, 4294967295LL};
    case RegisterType::i32:
      return {-2147483648LL, 2147483647LL};
  }
  throw std::logic_error("a register type without a range");
}

std::int64_t get_counts(const Field& field, std::span<const std::uint16_t> window, std::size_t index) {
  const std::uint16_t first = window[index];
  switch (field.type) {
    case RegisterType::u16:
      return first;
    case RegisterType::i16:
      return static_cast<std::int16_t>(first);
    case RegisterType::u32:
    case RegisterType::i32:
      break;
  }
  const std::uint16_t second = window[index + 1];
  const bool high_first = field.word_order == WordOrder::high_word_first;
  const std::uint32_t bits = static_cast<std::uint32_t>(high_first ? first : second) << 16 |
                             static_cast<std::uint32_t>(high_first ? second : first);
  if (field.type == RegisterType::i32) return static_cast<std::int32_t>(bits);
  return bits;
}

void put_counts(const Field& field, std::span<std::uint16_t> window, std::size_t index, std::int64_t counts) {
  const auto [least, most] = range_of(field.type);
  if (counts < least || counts > most) throw std::logic_error("counts that do not fit " + field.name);
  const auto bits = static_cast<std::uint32_t>(counts);
  const auto low = static_cast<std::uint16_t>(bits & 0xFFFFU), high = static_cast<std::uint16_t>(bits >> 16);
  if (field.registers() == 1) {
    window[index] = low;
    return;
  }
  const bool high_first = field.word_order == WordOrder::high_word_first;
  window[index] = high_first ? high : low;
  window[index + 1] = high_first ? low : high;
}

std::uint16_t decode_map_version(const Profile& profile, std::span<const std::uint16_t> window) {
  const Field& field = profile[Signal::map_version];
  const std::int64_t counts =
      get_counts(field, window, static_cast<std::size_t>(field.address - profile.read_window.start));
  return counts < 0 || counts > 65535 ? 0 : static_cast<std::uint16_t>(counts);
}

std::optional<Problem> decode(const Profile& profile, std::span<const std::uint16_t> window,
                              ports::PressScan& scan, HeldSamples& held) {
  if (window.size() != profile.read_window.count)
    throw std::logic_error("a window of another size than the profile's");
  Reader reader(profile, window);
  scan.map_version = reader.u16(Signal::map_version);
  scan.node_beat = reader.u16(Signal::node_beat);
  scan.phase = reader.u16(Signal::phase);
  scan.fault_code = reader.u16(Signal::fault_code);
  scan.status = status_bits(profile, reader.u16(Signal::status));
  scan.die_tag = reader.u16(Signal::die_tag);
  scan.angle_deg = reader.real(Signal::angle);
  scan.oil_temperature_c = reader.real(Signal::oil_temperature);
  scan.pressure_bar = reader.real(Signal::pressure);
  scan.gap_mm = reader.real(Signal::gap);
  scan.edge_distance_mm = reader.real(Signal::edge_distance);
  scan.permit_echo = reader.u16(Signal::permit_echo);
  scan.permit_state = reader.u16(Signal::permit_state);
  scan.bite_number = reader.u16(Signal::bite_number);
  scan.stroke_total = static_cast<std::uint32_t>(reader.whole(Signal::stroke_total, 4294967295LL));
  scan.peak_pressure_bar = reader.real(Signal::peak_pressure);
  scan.dwell_done_ms = reader.real(Signal::dwell_done);
  scan.least_gap_mm = reader.real(Signal::least_gap);
  scan.refusal = reader.u16(Signal::refusal);
  held.newest = reader.u16(Signal::newest_sample);
  held.bite = reader.u16(Signal::sample_bite);
  const std::int64_t count = reader.whole(Signal::sample_count, 65535);
  if (count > profile.samples.count)
    reader.note({name_of(Signal::sample_count), std::to_string(count),
                 "at most the " + std::to_string(profile.samples.count) + " samples of the profile"});
  else
    decode_samples(profile, window, static_cast<std::size_t>(count), reader, held);
  return reader.problem();
}

Result<std::vector<std::uint16_t>> encode(const Profile& profile, const ports::PressOrder& order) {
  std::vector<std::uint16_t> registers(profile.order_window.count, 0);
  std::int64_t number = kind_number(order.kind);
  const Field& kind = profile[OrderField::order];
  if (!kind.codes.empty()) {
    const auto known = std::find_if(kind.codes.begin(), kind.codes.end(),
                                    [&](const auto& code) { return code.second == number; });
    if (known == kind.codes.end())
      return Problem{kind.name, std::to_string(number),
                     "an order that this press knows, listed in the profile's codes"};
    number = known->first;
  }
  const std::pair<OrderField, double> values[] = {
      {OrderField::order, static_cast<double>(number)},
      {OrderField::order_token, order.token},
      {OrderField::target_pressure, order.target_pressure_bar},
      {OrderField::pressure_limit, order.pressure_limit_bar},
      {OrderField::dwell, order.dwell_ms},
      {OrderField::closed_gap, order.closed_gap_mm},
      {OrderField::stroke_timeout, order.stroke_timeout_ms},
      {OrderField::permit_life, order.permit_life_ms},
      {OrderField::expected_die_tag, order.expected_die_tag},
  };
  for (const auto& [which, value] : values)
    if (auto problem = put_value(profile, which, value, registers)) return *std::move(problem);
  return registers;
}

}  // namespace shankwright::modbus
