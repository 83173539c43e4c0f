#include "hmi/server/workshop_in.hpp"

#include <array>
#include <nlohmann/json.hpp>
#include <vector>

#include "hmi/server/body_reader.hpp"
#include "hmi/server/json_text.hpp"
#include "people/roles.hpp"
#include "quantity/as_written.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::hmi {
namespace {

using Members = std::vector<std::string_view>;
using nlohmann::json;

/// A whole number between `least` and `most`; `otherwise` where the member may be missing and is.
Result<std::uint64_t> whole(const json& body, const char* member, std::uint64_t least, std::uint64_t most,
                            std::optional<std::uint64_t> otherwise = std::nullopt) {
  const std::string place = pointer_to(member);
  const std::string expected = "a whole number from " + std::to_string(least) + " to " + std::to_string(most);
  const auto found = body.is_object() ? body.find(member) : body.end();
  if (found == body.end()) {
    if (otherwise) return *otherwise;
    return Problem{place, "no such member", expected};
  }
  if (!found->is_number_unsigned() || *found < least || *found > most)
    return Problem{place, quantity::as_written(found->dump()), expected};
  return found->get<std::uint64_t>();
}

bool blank(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

}  // namespace

Result<workshop::ForceBegin> read_force_begin(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"cell", "range", "resolution", "class_needed", "steps", "preloaded"};
  BodyReader reader(json.value(), known);
  constexpr std::array<std::string_view, 4> classes = {"0.5", "1", "2", "3"};
  constexpr std::array meant = {calibration::ForceClass::half, calibration::ForceClass::one,
                                calibration::ForceClass::two, calibration::ForceClass::three};
  workshop::ForceBegin out;
  out.cell = reader.text("cell", "the id of a force cell");
  out.range_kn =
      reader.amount("range", quantity::parse_force_kn, "the greatest force of the range, as \"600 kN\"");
  out.resolution_kn = reader.amount("resolution", quantity::parse_force_kn,
                                    "the resolution of the press's indication, as \"0.5 kN\"");
  out.class_needed = meant.at(reader.choice("class_needed", classes));
  if (reader.problem()) return *reader.problem();
  const auto steps =
      whole(json.value(), "steps", calibration::steps_least, workshop::steps_most, calibration::steps_least);
  if (!steps) return steps.problem();
  out.steps = steps.value();
  const auto preloaded = json.value().find("preloaded");
  if (preloaded == json.value().end() || !preloaded->is_boolean())
    return Problem{
        "/preloaded",
        preloaded == json.value().end() ? "no such member" : quantity::as_written(preloaded->dump()),
        "true, where the press was loaded three times to the full range first"};
  out.preloaded = preloaded->get<bool>();
  return out;
}

Result<workshop::RunBegin> read_run_begin(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"cell_angle", "ram_position"};
  BodyReader reader(json.value(), known);
  workshop::RunBegin out;
  out.cell_angle_deg =
      reader.amount("cell_angle", quantity::parse_angle_deg, "how the cell stands, as \"120 deg\"");
  if (reader.has("ram_position"))
    out.ram_position_mm =
        reader.amount("ram_position", quantity::parse_length_mm, "where the ram stands, as \"20 mm\"");
  if (reader.problem()) return *reader.problem();
  if (out.cell_angle_deg < 0 || out.cell_angle_deg >= 360)
    return Problem{"/cell_angle", quantity::print(out.cell_angle_deg, "deg", 1), "0 deg to below 360 deg"};
  return out;
}

Result<workshop::ReadingTaken> read_force_reading(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const auto step = whole(json.value(), "step", 0, workshop::steps_most);
  Members known = {"run", "step", "indicated"};
  if (step && step.value() > 0) known.emplace_back("cell");
  BodyReader reader(json.value(), known);
  if (reader.problem()) return *reader.problem();
  const auto run = whole(json.value(), "run", 1, workshop::runs_most);
  for (const auto* number : {&run, &step})
    if (!*number) return number->problem();
  workshop::ReadingTaken out;
  out.run = run.value();
  out.step = step.value();
  if (out.step > 0)
    out.cell_kn =
        reader.amount("cell", quantity::parse_force_kn, "what the force cell reads, as \"120.3 kN\"");
  if (reader.has("indicated"))
    out.indicated_kn =
        reader.amount("indicated", quantity::parse_force_kn, "what the press's display shows, as \"120 kN\"");
  if (reader.problem()) return *reader.problem();
  return out;
}

Result<ForceFinish> read_force_finish(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"due", "pin"};
  BodyReader reader(json.value(), known);
  ForceFinish out;
  const auto due = reader.text_or_null("due", "the last day as YYYY-MM-DD, or null");
  if (reader.has("pin")) out.pin = reader.secret("pin", "the PIN");
  if (reader.problem()) return *reader.problem();
  if (!due) return out;
  out.due_day = people::day_of(*due);
  if (!out.due_day)
    return Problem{"/due", quantity::as_written(*due), "a day as YYYY-MM-DD, for example 2031-05-04"};
  return out;
}

Result<Reasoned> read_reasoned(std::string_view body, bool with_pin) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  Members known = {"reason"};
  if (with_pin) known.emplace_back("pin");
  BodyReader reader(json.value(), known);
  Reasoned out;
  out.reason = reader.free_text("reason", "the reason, up to 2000 bytes of text");
  if (with_pin && reader.has("pin")) out.pin = reader.secret("pin", "the PIN");
  if (reader.problem()) return *reader.problem();
  if (blank(out.reason)) return Problem{"/reason", "nothing", "a reason in words"};
  return out;
}

Result<TrialAsked> read_trial(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"recipe", "fittings", "seed"};
  BodyReader reader(json.value(), known);
  TrialAsked out;
  out.recipe = reader.text("recipe", "the id of a recipe, or ID.rREVISION");
  if (reader.problem()) return *reader.problem();
  const auto fittings = whole(json.value(), "fittings", 1000, 50'000, out.fittings);
  const auto seed = whole(json.value(), "seed", 0, 9'007'199'254'740'991, out.seed);
  for (const auto* number : {&fittings, &seed})
    if (!*number) return number->problem();
  out.fittings = fittings.value();
  out.seed = seed.value();
  return out;
}

Result<std::uint64_t> read_trial_number(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"trial"};
  const BodyReader reader(json.value(), known);
  if (reader.problem()) return *reader.problem();
  return whole(json.value(), "trial", 1, 9'007'199'254'740'991);
}

}  // namespace shankwright::hmi
