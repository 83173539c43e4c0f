#include "drivers/modbus/profile.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include "drivers/modbus/profile_terms.hpp"
#include "drivers/modbus/yaml_reader.hpp"

namespace shankwright::modbus {
namespace {

// Modbus Application Protocol V1.1b3, sections 6.3, 6.4 and 6.12: registers in one request.
constexpr int most_registers_read = 125;
constexpr int most_registers_written = 123;

Scale scale_of(double factor) {
  // A decimal scale is a whole number of counts per unit; dividing by that keeps decimal readings exact.
  const double per_unit = 1.0 / factor;
  const double whole = std::round(per_unit);
  if (whole >= 1 && std::abs(per_unit - whole) < 1e-9 * whole) return {1, whole};
  return {factor, 1};
}

class ProfileParser {
 public:
  ProfileParser(const YAML::Node& root, const std::string& file, LoadedProfile& out)
      : root_(root), read_(file, out.problems), out_(out.profile), problems_(out.problems) {}

  void parse() {
    if (!read_.known_keys(
            root_, "a press profile",
            {"profile", "map_version", "word_order", "read", "signals", "samples", "station_beat", "order"}))
      return;
    const YAML::Node name =
        read_.need(root_, "profile", "the profile's name, for example reference press map");
    if (name) {
      if (name.IsScalar() && !name.Scalar().empty())
        out_.name = name.Scalar();
      else
        read_.fault(name, YamlReader::scalar(name), "the profile's name, for example reference press map");
    }
    out_.map_version =
        address(read_.need(root_, "map_version", "the map version the press has to show"), "map_version");
    if (const auto word = word_order(root_["word_order"])) word_order_ = *word;
    parse_read(read_.need(root_, "read", "read: {table: input, function: 4}"));
    parse_signals(read_.need(root_, "signals", "every signal of the map"));
    parse_samples(read_.need(root_, "samples", "the block of samples"));
    parse_beat(read_.need(root_, "station_beat", "the register the station's beat is written to"));
    parse_order(read_.need(root_, "order", "the registers an order is written to"));
    if (problems_.empty()) derive_windows();
  }

 private:
  std::uint16_t address(const YAML::Node& node, const std::string& what) {
    return static_cast<std::uint16_t>(read_.whole(node, 0, 65535, what).value_or(0));
  }
  std::optional<WordOrder> word_order(const YAML::Node& node) {
    const auto word =
        read_.word(node, {"high_word_first", "low_word_first"}, "the order of a 32-bit value's words");
    if (!word) return std::nullopt;
    return *word == "high_word_first" ? WordOrder::high_word_first : WordOrder::low_word_first;
  }
  void parse_read(const YAML::Node& node) {
    if (!read_.known_keys(node, "read", {"table", "function"})) return;
    const auto table =
        read_.word(read_.need(node, "table", "input or holding"), {"input", "holding"}, "the table");
    if (!table) return;
    out_.read_function = *table == "input" ? 4 : 3;
    (void)read_.whole(read_.need(node, "function", "4 for input registers, 3 for holding registers"),
                      out_.read_function, out_.read_function,
                      "the function that reads the " + *table + " table");
  }

  /// `position` is "address" for a register of its own, "offset" for a part of a sample.
  Field parse_field(const YAML::Node& node, const std::string& name, Dimension dimension,
                    const std::string& position, std::set<std::string> more_keys = {}) {
    Field field;
    field.name = name;
    field.word_order = word_order_;
    more_keys.insert({position, "type", "scale", "unit", "beyond_range", "word_order", "codes", "constant"});
    if (!read_.known_keys(node, name, more_keys)) return field;
    if (node["constant"]) {
      field.constant = read_.number(node["constant"], "the value that stands for " + name);
      if (node[position]) read_.fault(node[position], position, "either a constant or an " + position);
      return field;
    }
    field.address = address(read_.need(node, position, "a register " + position), name + "'s " + position);
    if (const auto type = read_.word(read_.need(node, "type", "u16, i16, u32 or i32"),
                                     {"u16", "i16", "u32", "i32"}, name + "'s type")) {
      field.type = *type == "u16"   ? RegisterType::u16
                   : *type == "i16" ? RegisterType::i16
                   : *type == "u32" ? RegisterType::u32
                                    : RegisterType::i32;
    }
    if (field.registers() == 2 && field.address == 65535)
      read_.fault(node[position], "a 32-bit value at 65535", "room for two registers");
    if (const auto word = word_order(node["word_order"])) field.word_order = *word;
    parse_scale(node, field, dimension);
    if (node["beyond_range"])
      field.beyond_range = read_.whole(node["beyond_range"], 0, 4294967295LL, "counts");
    parse_codes(node["codes"], field);
    return field;
  }
  void parse_scale(const YAML::Node& node, Field& field, Dimension dimension) {
    if (dimension == Dimension::number) {
      for (const char* key : {"scale", "unit"})
        if (node[key])
          read_.fault(node[key], key, "no " + std::string(key) + ": " + field.name + " is a plain number");
      return;
    }
    const std::map<std::string, double>& known = units(dimension);
    std::set<std::string> words;
    for (const auto& [word, factor] : known) words.insert(word);
    const auto unit =
        read_.word(read_.need(node, "unit", "the unit of " + field.name), words, field.name + "'s unit");
    const YAML::Node scale = read_.need(node, "scale", "the value of one count in its unit, for example 0.1");
    const auto factor = read_.number(scale, "the value of one count, for example 0.1");
    if (!unit || !factor) return;
    if (*factor <= 0) return read_.fault(scale, scale.Scalar(), "a scale above zero");
    field.scale = scale_of(*factor * known.at(*unit));
  }
  void parse_codes(const YAML::Node& node, Field& field) {
    if (!node) return;
    if (!node.IsMap())
      return read_.fault(node, YamlReader::scalar(node), "codes as {press's number: map's number}");
    for (const auto& pair : node) {
      const auto from = read_.whole(pair.first, 0, 65535, "the press's number");
      const auto to = read_.whole(pair.second, 0, 65535, "the map's number");
      if (!from || !to) continue;
      for (const auto& [known, meaning] : field.codes)
        if (known == *from)
          read_.fault(pair.first, std::to_string(*from) + " a second time", "each number once");
      field.codes.emplace_back(*from, *to);
    }
  }

  void parse_signals(const YAML::Node& node) {
    std::set<std::string> keys;
    for (const Named& named : signal_names) keys.insert(named.name);
    if (!read_.known_keys(node, "signals", keys)) return;
    for (std::size_t i = 0; i < signal_count; ++i) {
      const auto [name, dimension] = signal_names[i];
      const YAML::Node signal =
          read_.need(node, name, std::string("where ") + name + " is read, or its constant");
      if (!signal) continue;
      const bool is_status = static_cast<Signal>(i) == Signal::status;
      out_.signals[i] = parse_field(signal, name, dimension, "address",
                                    is_status ? std::set<std::string>{"bits"} : std::set<std::string>{});
      if (is_status && signal.IsMap())
        parse_bits(read_.need(signal, "bits", "the number of every status bit"));
    }
    // Without these two the driver could not tell a living press of this map from anything else.
    for (const Signal signal : {Signal::map_version, Signal::node_beat})
      if (out_[signal].constant) read_.fault(node[name_of(signal)], "a constant", "a register of the press");
  }
  void parse_bits(const YAML::Node& node) {
    const std::set<std::string> keys(status_bit_names.begin(), status_bit_names.end());
    if (!read_.known_keys(node, "bits", keys)) return;
    for (std::size_t i = 0; i < status_bit_count; ++i) {
      const YAML::Node bit = read_.need(node, status_bit_names[i], "a bit number, not N, never or always");
      if (!bit) continue;
      StatusBit& out = out_.status_bits[i];
      const std::string text = YamlReader::scalar(bit);
      if (text == "never" || text == "always") {
        out.source = text == "never" ? StatusBit::Source::never : StatusBit::Source::always;
        continue;
      }
      const bool inverted = text.rfind("not ", 0) == 0;
      out.source = inverted ? StatusBit::Source::inverted_bit : StatusBit::Source::bit;
      const std::string digits = inverted ? text.substr(4) : text;
      const bool number = !digits.empty() && digits.size() <= 2 &&
                          digits.find_first_not_of("0123456789") == std::string::npos &&
                          std::stoi(digits) <= 15;
      if (number)
        out.bit = static_cast<std::uint8_t>(std::stoi(digits));
      else
        read_.fault(bit, text, "a bit from 0 to 15, not N, never or always");
    }
  }

  void parse_samples(const YAML::Node& node) {
    if (!read_.known_keys(
            node, "samples",
            {"address", "count", "registers_each", "period", "packing", "time", "pressure", "gap"}))
      return;
    SampleBlock& block = out_.samples;
    block.address = address(read_.need(node, "address", "the block's first register"), "samples' address");
    block.count = static_cast<std::uint16_t>(
        read_.whole(read_.need(node, "count", "samples held at most"), 1, 125, "samples held at most")
            .value_or(1));
    block.registers_each =
        static_cast<std::uint16_t>(read_
                                       .whole(read_.need(node, "registers_each", "registers of one sample"),
                                              1, 125, "registers of one sample")
                                       .value_or(1));
    if (const YAML::Node period = read_.need(node, "period", "period: {value: 2, unit: ms}")) {
      if (read_.known_keys(period, "period", {"value", "unit"})) {
        const auto unit = read_.word(read_.need(period, "unit", "ms"), {"ms", "s"}, "the period's unit");
        const YAML::Node value = read_.need(period, "value", "time between samples");
        const auto number = read_.number(value, "time between samples");
        if (unit && number && *number > 0)
          block.period_ms = *number * units(Dimension::time).at(*unit);
        else if (unit && number)
          read_.fault(value, value.Scalar(), "a time above zero");
      }
    }
    if (const auto word = read_.word(read_.need(node, "packing", "first, last or either"),
                                     {"first", "last", "either"}, "which end of the block is filled"))
      block.packing = *word == "first"  ? SampleBlock::Packing::first
                      : *word == "last" ? SampleBlock::Packing::last
                                        : SampleBlock::Packing::either;
    const auto part = [&](const char* name, Dimension dimension) {
      Field field;
      const YAML::Node at = read_.need(node, name, std::string("where a sample keeps its ") + name);
      if (!at) return field;
      field = parse_field(at, std::string("sample ") + name, dimension, "offset");
      if (field.constant) read_.fault(at, "a constant", "a register of the sample");
      if (field.address + field.registers() > block.registers_each)
        read_.fault(at, "offset " + std::to_string(field.address), "a place inside the sample's registers");
      return field;
    };
    block.time = part("time", Dimension::time);
    block.pressure = part("pressure", Dimension::pressure);
    block.gap = part("gap", Dimension::length);
  }

  void parse_beat(const YAML::Node& node) {
    if (!node) return;
    out_.station_beat = parse_field(node, "station_beat", Dimension::number, "address", {"function"});
    if (!node.IsMap()) return;
    if (const auto function =
            read_.word(read_.need(node, "function", "6 or 16"), {"6", "16"}, "the function"))
      out_.beat_function = *function == "6" ? 6 : 16;
    if (out_.station_beat.constant || out_.station_beat.registers() != 1)
      read_.fault(node, "a beat that is not one 16-bit register", "type u16 and an address");
  }
  void parse_order(const YAML::Node& node) {
    if (!read_.known_keys(node, "order", {"function", "read_back_function", "fields"})) return;
    (void)read_.whole(read_.need(node, "function", "16"), 16, 16,
                      "the function that writes several registers at once");
    if (node["read_back_function"] &&
        read_.whole(node["read_back_function"], 3, 3, "the function that reads holding registers"))
      out_.read_back_function = 3;
    std::set<std::string> keys;
    for (const Named& named : order_names) keys.insert(named.name);
    const YAML::Node fields = read_.need(node, "fields", "the register of every part of an order");
    if (!read_.known_keys(fields, "fields", keys)) return;
    for (std::size_t i = 0; i < order_field_count; ++i) {
      const auto [name, dimension] = order_names[i];
      const YAML::Node at = read_.need(fields, name, std::string("where ") + name + " is written");
      if (!at) continue;
      out_.order[i] = parse_field(at, name, dimension, "address");
      if (out_.order[i].constant) read_.fault(at, "a constant", "a register of the press");
    }
  }

  void derive_windows() {
    std::vector<Window> reads{
        {out_.samples.address, static_cast<std::uint16_t>(out_.samples.count * out_.samples.registers_each)}};
    for (const Field& field : out_.signals)
      if (!field.constant) reads.push_back({field.address, field.registers()});
    out_.read_window = cover(reads, most_registers_read, root_["signals"], "in one read per scan");

    std::vector<Window> writes;
    for (const Field& field : out_.order) writes.push_back({field.address, field.registers()});
    out_.order_window = cover(writes, most_registers_written, root_["order"], "in one write");
    refuse_overlaps(writes);
    const Window beat{out_.station_beat.address, 1};
    if (overlap(beat, out_.order_window))
      read_.fault(root_["station_beat"], "a beat inside the order's registers",
                  "a register that an order does not write");
    writes.push_back(beat);
    if (out_.read_back_function)
      out_.read_back_window =
          cover(writes, most_registers_read, root_["order"], "in one read after connecting");
  }
  static bool overlap(Window a, Window b) {
    return a.start < b.start + b.count && b.start < a.start + a.count;
  }
  Window cover(const std::vector<Window>& parts, int most, const YAML::Node& at, const std::string& how) {
    int first = 65536, end = 0;
    for (const Window& part : parts) {
      first = std::min(first, static_cast<int>(part.start));
      end = std::max(end, part.start + part.count);
    }
    if (end - first > most || end > 65536)
      read_.fault(at, "registers " + std::to_string(first) + " to " + std::to_string(end - 1),
                  "at most " + std::to_string(most) + " registers, " + how);
    return {static_cast<std::uint16_t>(first), static_cast<std::uint16_t>(end - first)};
  }
  void refuse_overlaps(const std::vector<Window>& parts) {
    for (std::size_t i = 0; i < parts.size(); ++i)
      for (std::size_t k = 0; k < i; ++k)
        if (overlap(parts[i], parts[k]))
          read_.fault(root_["order"]["fields"][order_names[i].name],
                      "a register that " + std::string(order_names[k].name) + " uses too",
                      "a register of its own");
  }

  const YAML::Node& root_;
  YamlReader read_;
  Profile& out_;
  std::vector<Problem>& problems_;
  WordOrder word_order_ = WordOrder::high_word_first;
};

}  // namespace

LoadedProfile parse_profile(const std::string& text, const std::string& name) {
  LoadedProfile out;
  try {
    const YAML::Node root = YAML::Load(text);
    ProfileParser(root, name, out).parse();
  } catch (const YAML::Exception& error) {
    const std::string place = error.mark.is_null() ? name
                                                   : name + ":" + std::to_string(error.mark.line + 1) + ":" +
                                                         std::to_string(error.mark.column + 1);
    out.problems.push_back({place, error.msg, "a press profile in YAML"});
  }
  return out;
}

LoadedProfile load_profile(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  if (!file || !(text << file.rdbuf())) {
    LoadedProfile out;
    out.problems.push_back(
        {path, "a file that cannot be read", "a press profile, for example drivers/profiles/reference.yaml"});
    return out;
  }
  return parse_profile(text.str(), path);
}

}  // namespace shankwright::modbus
