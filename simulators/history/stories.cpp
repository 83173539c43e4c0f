#include "simulators/history/stories.hpp"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "record/trace_codec.hpp"

extern "C" {
extern const char shankwright_history_stories[];
extern const char shankwright_history_stories_end[];
}

namespace shankwright::history {
namespace {

using nlohmann::json;

std::string blank(std::size_t number) {
  return fmt::format("@{}@", number);
}
std::string bare_blank(std::size_t number) {
  return fmt::format("@#{}@", number);
}

// Ids of gauges and dies become blanks wherever they stand.
void mark(json& value, Blanks& blanks, const std::string& die_pair) {
  if (value.is_structured()) {
    for (auto& inner : value) mark(inner, blanks, die_pair);
  } else if (value.is_string()) {
    const auto& text = value.get_ref<const std::string&>();
    if (text == die_pair)
      value = blank(Blanks::die_pair);
    else if (const auto gauge = blanks.gauges().find(text); gauge != blanks.gauges().end())
      value = blank(gauge->second);
  }
}

void name_gauges(const json& document, Blanks& blanks) {
  for (const auto* key : {"go_gauge", "no_go_gauge"}) (void)blanks.of_gauge(document.at(key).at("id"));
  for (const auto& gauge : document.at("measuring_gauges")) (void)blanks.of_gauge(gauge.at("id"));
}

// As a station writes the set-up at admission.
json set_up(const json& document) {
  return {{"operator",
           {{"id", blank(Blanks::operator_id)},
            {"name", blank(Blanks::operator_name)},
            {"qualified_until", blank(Blanks::qualified_until)}}},
          {"die_pair",
           {{"id", blank(Blanks::die_pair)},
            {"serial", blank(Blanks::die_serial)},
            {"strokes", bare_blank(Blanks::strokes)},
            {"life_strokes", document.at("die_pair").at("life_strokes")},
            {"inspection_due", blank(Blanks::die_due)}}},
          {"press", {{"id", document.at("press").at("id")}, {"calibration_due", blank(Blanks::press_due)}}},
          {"rope_lot", {{"id", blank(Blanks::rope_lot)}, {"certificate", blank(Blanks::rope_certificate)}}},
          {"terminal_lot",
           {{"id", blank(Blanks::terminal_lot)}, {"certificate", blank(Blanks::terminal_certificate)}}}};
}

// The mean over five samples in place of each, and the standard deviation of what that takes away.
double smooth(std::vector<double>& values) {
  constexpr std::ptrdiff_t reach = 2;
  const auto read = values;
  const auto count = static_cast<std::ptrdiff_t>(values.size());
  std::vector<double> taken;
  for (std::ptrdiff_t index = 0; index < count; ++index) {
    double sum = 0;
    for (std::ptrdiff_t near = index - reach; near <= index + reach; ++near)
      sum += read[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(near, 0, count - 1))];
    values[static_cast<std::size_t>(index)] = sum / (2 * reach + 1);
    taken.push_back(std::abs(read[static_cast<std::size_t>(index)] - sum / (2 * reach + 1)));
  }
  // The median: where the dies open a trace bends, and that is no noise. A mean of five keeps a fifth of it.
  std::nth_element(taken.begin(), taken.begin() + count / 2, taken.end());
  return taken[static_cast<std::size_t>(count / 2)] / 0.6745 / std::sqrt(0.8);
}

std::string from_base64(const std::string& text) {
  std::string out(text.size(), '\0');
  std::size_t size = 0;
  if (sodium_base642bin(reinterpret_cast<unsigned char*>(out.data()), out.size(), text.data(), text.size(),
                        nullptr, &size, nullptr, sodium_base64_VARIANT_ORIGINAL) != 0)
    throw std::logic_error("a story's trace is not base 64");
  out.resize(size);
  return out;
}

Trace trace_of(const std::string& base64) {
  const auto samples = record::decode_trace(from_base64(base64));
  if (!samples) throw std::logic_error("a story's trace: " + samples.problem().text());
  Trace out;
  for (const auto& sample : samples.value()) {
    out.times_ms.push_back(sample.time_ms);
    out.pressure_counts.push_back(std::round(sample.pressure_bar * 10));
    out.gap_counts.push_back(std::round(sample.gap_mm * 1000));
  }
  out.pressure_noise = smooth(out.pressure_counts);
  out.gap_noise = smooth(out.gap_counts);
  return out;
}

StoryEntry entry_of(const json& line, const Story& story, const json& document, json& state, Blanks& blanks) {
  StoryEntry out;
  out.after_ms = line.at("after_ms");
  out.kind = line.at("kind");
  out.event = line.at("event");
  out.stage = line.at("stage");
  out.by_station = line.at("by") == "station";
  auto body = line.at("body");
  out.finds = body.contains("findings");
  if (const auto gauge = body.find("gauge"); gauge != body.end())
    body["gauge_calibration_due"] = blank(Blanks::due_of(blanks.of_gauge(*gauge)));
  if (out.event == "admit") body["register"] = set_up(document);
  mark(body, blanks, story.die_pair);
  out.body = Text(body.dump());
  state.merge_patch(line.at("changed"));
  out.state_json = state.dump();
  if (const auto trace = line.find("trace"); trace != line.end()) out.trace = trace_of(*trace);
  return out;
}

Stories read(std::string_view lines) {
  Stories out;
  std::map<std::string, json> documents;
  json state;
  while (!lines.empty()) {
    const auto end = lines.find('\n');
    const auto line = json::parse(lines.substr(0, end));
    lines.remove_prefix(end == std::string_view::npos ? lines.size() : end + 1);
    if (line.contains("document")) {
      const std::string recipe = line.at("document");
      documents[recipe] = line.at("content");
      name_gauges(documents[recipe], out.blanks);
    } else if (line.contains("story")) {
      out.stories.push_back({line.at("story"), line.at("recipe"), line.at("die_pair"), line.at("ends"), {}});
      state = json::object();
      auto document = documents.at(line.at("recipe"));
      mark(document, out.blanks, out.stories.back().die_pair);
      document["recipe"]["revision"] = bare_blank(Blanks::revision);
      out.documents.try_emplace(line.at("recipe"), Text(document.dump()));
    } else {
      auto& story = out.stories.back();
      story.entries.push_back(entry_of(line, story, documents.at(story.recipe), state, out.blanks));
    }
  }
  return out;
}

}  // namespace

std::size_t Blanks::of_gauge(const std::string& id) {
  return gauges_.try_emplace(id, count()).first->second;
}

Text::Text(std::string_view marked) {
  while (true) {
    const auto first = marked.find('@');
    const auto last = first == std::string_view::npos ? first : marked.find('@', first + 1);
    if (last == std::string_view::npos) break;
    auto stands = marked.substr(0, first);
    auto name = marked.substr(first + 1, last - first - 1);
    auto rest = marked.substr(last + 1);
    if (name.starts_with('#')) {
      name.remove_prefix(1);
      stands.remove_suffix(1);
      rest.remove_prefix(1);
    }
    std::size_t number = 0;
    if (std::from_chars(name.data(), name.data() + name.size(), number).ec != std::errc())
      throw std::logic_error("a story with a blank that has no number");
    pieces_.push_back({std::string(stands), number});
    marked = rest;
  }
  end_ = marked;
}

std::string Text::filled(const std::vector<std::string>& values) const {
  std::string out;
  for (const auto& piece : pieces_) {
    out += piece.stands;
    out += values.at(piece.blank);
  }
  return out + end_;
}

const Stories& stories() {
  static const Stories all =
      read({shankwright_history_stories,
            static_cast<std::size_t>(shankwright_history_stories_end - shankwright_history_stories)});
  return all;
}

}  // namespace shankwright::history
