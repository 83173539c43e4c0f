#include "simulators/history/telling.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <nlohmann/json.hpp>

namespace shankwright::history {
namespace {

struct Person {
  const char *id, *name;
};
constexpr std::array<Person, 9> operators{{{"ada", "Ada Demo"},
                                           {"bo", "Bo Demo"},
                                           {"cleo", "Cleo Demo"},
                                           {"dara", "Dara Demo"},
                                           {"emil", "Emil Demo"},
                                           {"femi", "Femi Demo"},
                                           {"gus", "Gus Demo"},
                                           {"hana", "Hana Demo"},
                                           {"ivo", "Ivo Demo"}}};
constexpr const char* reviewer = "rhea";
constexpr std::array<const char*, 12> scrap_reasons{
    "Force too low over the whole bite: rope not home. Cut off, new terminal.",
    "Shank bent when the press stopped. Not usable.",
    "Wrong rope on the reel; the customer wants 7x19.",
    "Rope slipped before the bite. Cut off 60 mm and begin again.",
    "Fine crack beside the parting line, seen with the lens.",
    "Mouth out of round after the stop, bore too wide.",
    "Depth mark no longer readable; insertion cannot be shown.",
    "Scratch along the flat deeper than the drawing allows.",
    "Proof piece of the lot failed; whole row put aside.",
    "Terminal lot mixed up with another job.",
    "Dies were dirty, grit pressed into the shank.",
    "Broken wire at the mouth."};
constexpr std::array<const char*, 5> use_reasons{
    "Measured again with the other micrometer: in tolerance. Concession by the planner.",
    "Low force explained by soft terminal lot, pull sample held.",
    "Trace late by one sample only; peak and dwell are there.",
    "Checked against the pull samples of the same lot, strength above the minimum.",
    "Customer accepts for a guard rail, no lifting."};
constexpr std::array<const char*, 4> corrections{
    "Caliper reading typed with a comma in the wrong place; paper sheet says the same as the trace.",
    "Entered for the neighbour's fitting by mistake, measured again the same minute.",
    "Name of the job was misspelt on the sheet.",
    "Operator changed at the break, second half by a colleague."};

constexpr std::int64_t us_per_ms = 1000, us_per_s = 1'000'000, us_per_day = 86'400 * us_per_s;

std::string day_text(std::int64_t utc_us) {
  const std::chrono::year_month_day day{std::chrono::floor<std::chrono::days>(
      std::chrono::sys_time<std::chrono::microseconds>(std::chrono::microseconds(utc_us)))};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(day.year()), static_cast<unsigned>(day.month()),
                     static_cast<unsigned>(day.day()));
}

// The first day of a yearly round that is still to come.
std::string due_day(std::int64_t utc_us, std::size_t shift_days) {
  const auto shift = static_cast<std::int64_t>(shift_days) * us_per_day;
  const auto year = 365 * us_per_day;
  return day_text(((utc_us + shift) / year + 1) * year - shift);
}

std::size_t below(plant::Random& dice, std::size_t count) {
  return static_cast<std::size_t>(dice.bits() % count);
}

std::string with_stage(const std::string& state_json, const std::string& stage) {
  auto state = nlohmann::json::parse(state_json);
  state["stage"] = stage;
  return state.dump();
}

}  // namespace

Telling::Telling(std::uint64_t seed, std::int64_t first_utc_us, std::int64_t last_utc_us,
                 std::int64_t fittings)
    : dice_(seed),
      first_utc_us_(first_utc_us),
      last_utc_us_(last_utc_us),
      fittings_(fittings),
      special_(3),
      values_(stories().blanks.count()) {
  for (const auto& story : stories().stories) {
    recipes_[story.recipe].die_pair = story.die_pair;
    if (story.name == "accepted")
      usual_.push_back(&story);
    else
      special_[story.ends == "accepted" ? 0 : story.ends == "re-pressed" ? 1 : 2].push_back(&story);
  }
  // Drawing from a table of normal values is what makes a thousand million samples affordable.
  noise_.resize(1U << 16U);
  for (auto& value : noise_) value = static_cast<float>(dice_.normal(0, 1));
}

const Story& Telling::choose() {
  const auto draw = dice_.uniform();
  const std::size_t kind = draw < 0.05 ? 0 : draw < 0.085 ? 1 : draw < 0.115 ? 2 : 3;
  if (kind < 3 && !special_[kind].empty()) return *special_[kind][below(dice_, special_[kind].size())];
  for (const auto* story : usual_)
    if (story->recipe == job_recipe_) return *story;
  return *usual_.front();
}

void Telling::fill_blanks(const Story& story, std::int64_t at_utc_us) {
  auto& recipe = recipes_.at(story.recipe);
  if (recipe.rope_lot_left-- <= 0) {
    recipe.rope_lot = ++lots_;
    recipe.rope_lot_left = 80 + static_cast<int>(below(dice_, 400));
  }
  if (recipe.terminal_lot_left-- <= 0) {
    recipe.terminal_lot = ++lots_;
    recipe.terminal_lot_left = 100 + static_cast<int>(below(dice_, 900));
  }
  if (recipe.dies == 0 || recipe.strokes > 18'000) {
    ++recipe.dies;
    recipe.strokes = 0;
  }
  using Known = Blanks::Known;
  const auto& person = operators[operator_];
  values_[Known::operator_id] = person.id;
  values_[Known::operator_name] = person.name;
  values_[Known::qualified_until] = due_day(at_utc_us, operator_ * 37);
  values_[Known::die_pair] = fmt::format("{}-{:02}", story.die_pair, recipe.dies);
  values_[Known::die_serial] = fmt::format("DP-{}-{}", 400 + recipe.dies, story.die_pair);
  values_[Known::strokes] = std::to_string(recipe.strokes);
  values_[Known::die_due] = due_day(at_utc_us, 11);
  values_[Known::press_due] = due_day(at_utc_us, 200);
  values_[Known::rope_lot] = fmt::format("RL-{}", recipe.rope_lot);
  values_[Known::rope_certificate] = fmt::format("demo certificate RC-{}", recipe.rope_lot * 7 + 11);
  values_[Known::terminal_lot] = fmt::format("TL-{}", recipe.terminal_lot);
  values_[Known::terminal_certificate] = fmt::format("demo certificate TC-{}", recipe.terminal_lot * 3 + 5);
  const auto part = (at_utc_us - first_utc_us_) * 4 / std::max<std::int64_t>(1, last_utc_us_ - first_utc_us_);
  values_[Known::revision] = std::to_string(2 + part);
  // Each person has a set of gauges of their own, shared by two.
  for (const auto& [id, number] : stories().blanks.gauges()) {
    values_[number] = fmt::format("{}-{}", id, 1 + operator_ / 2);
    values_[Blanks::due_of(number)] = due_day(at_utc_us, number * 29 + operator_ / 2 * 61);
  }
}

std::vector<ports::Sample> Telling::bite(const Trace& trace) {
  std::vector<ports::Sample> out;
  out.reserve(trace.times_ms.size());
  for (std::size_t index = 0; index < trace.times_ms.size(); ++index) {
    const auto bits = dice_.bits();
    const auto noise = [&](unsigned shift) { return static_cast<double>(noise_[bits >> shift & 0xffffU]); };
    const auto counts = [](double value) {
      return static_cast<double>(static_cast<int>(std::max(0.0, value) + 0.5));
    };
    out.push_back({trace.times_ms[index],
                   counts(trace.pressure_counts[index] + trace.pressure_noise * noise(0)) / 10,
                   counts(trace.gap_counts[index] + trace.gap_noise * noise(16)) / 1000});
  }
  return out;
}

// A reviewer looks at it the same day or the next.
void Telling::end_hold(Fitting& fitting, const Story& story) {
  const bool scrap = dice_.chance(0.7);
  ports::NewEntry entry;
  const auto& last = fitting.entries.back();
  entry.at_utc_us = last.at_utc_us + static_cast<std::int64_t>(600 + below(dice_, 86'400)) * us_per_s;
  entry.kind = "verdict";
  entry.event = "dispose";
  entry.actor = reviewer;
  entry.stage = scrap ? "scrapped" : "released";
  entry.body_json = nlohmann::json{
      {"bite", 1},
      {"pass", 1},
      {"event", {{"disposition", scrap ? "scrap" : "use_as_is"}, {"items_free", true}, {"reviewer", true}}},
      {"reason", scrap ? scrap_reasons[below(dice_, scrap_reasons.size())]
                       : use_reasons[below(dice_, use_reasons.size())]},
      {"signed", true}}.dump();
  entry.state_json = with_stage(story.entries.back().state_json, entry.stage);
  fitting.released = !scrap;
  fitting.entries.push_back(std::move(entry));
}

Fitting Telling::next(bool brief) {
  if (job_left_-- <= 0) {
    job_left_ = 4 + static_cast<int>(below(dice_, 40));
    job_name_ = fmt::format("demo job {}", 100 + ++job_);
    operator_ = below(dice_, operators.size());
    job_recipe_ = usual_[below(dice_, usual_.size())]->recipe;
  }
  const auto length = last_utc_us_ - first_utc_us_;
  // Whole seconds first: microseconds of years times a million fittings would not fit.
  const auto at_utc_us =
      first_utc_us_ + (length / us_per_s * told_ / std::max<std::int64_t>(1, fittings_)) * us_per_s;
  const bool recent = ++told_ > fittings_ - 40;
  const auto& story = choose();
  fill_blanks(story, at_utc_us);
  Fitting out;
  auto told = story.entries.size();
  if ((recent && dice_.chance(0.3)) || dice_.chance(0.0005)) told = 1 + below(dice_, told);
  constexpr std::int64_t slower = 12;  // a person takes that much longer than the demonstration
  for (std::size_t index = 0; index < told; ++index) {
    const auto& from = story.entries[index];
    if (brief && index > 1 && index + 1 < told && !from.finds) continue;
    ports::NewEntry entry;
    entry.at_utc_us = at_utc_us + from.after_ms * us_per_ms * slower;
    entry.kind = from.kind;
    entry.event = from.event;
    entry.actor = from.by_station ? "station" : values_[Blanks::operator_id];
    entry.body_json = from.body.filled(values_);
    entry.state_json = from.state_json;
    entry.stage = from.stage;
    if (!from.trace.times_ms.empty()) {
      if (!brief) entry.trace = bite(from.trace);
      ++recipes_.at(story.recipe).strokes;
    }
    out.entries.push_back(std::move(entry));
  }
  out.released = out.entries.back().stage == "released";
  if (out.entries.back().stage == "hold" && !recent && !dice_.chance(0.02)) end_hold(out, story);
  if (told > 1 && dice_.chance(0.004)) out.correction = corrections[below(dice_, corrections.size())];
  auto& row = out.row;
  row.recipe_id = story.recipe;
  row.recipe_revision = static_cast<std::uint32_t>(std::stoul(values_[Blanks::revision]));
  row.job = job_name_;
  row.operator_id = values_[Blanks::operator_id];
  row.rope_lot = values_[Blanks::rope_lot];
  row.terminal_lot = values_[Blanks::terminal_lot];
  row.die_pair_id = values_[Blanks::die_pair];
  row.started_utc_us = at_utc_us;
  row.joined_recipe_json = stories().documents.at(story.recipe).filled(values_);
  return out;
}

}  // namespace shankwright::history
