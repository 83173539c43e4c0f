#include "hmi/server/json_in.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <vector>

#include "hmi/server/body_reader.hpp"
#include "hmi/server/json_text.hpp"
#include "hmi/server/names.hpp"
#include "quantity/quantity.hpp"

namespace shankwright::hmi {
namespace {

namespace event = procedure;
using Members = std::vector<std::string_view>;

constexpr std::string_view a_length = "a length with its unit, for example \"7.95 mm\"";
constexpr std::string_view an_angle = "an angle with its unit, for example \"90 deg\"";
constexpr std::string_view a_gauge = "the id of the gauge it was read with, for example \"caliper-1\"";
constexpr std::size_t readings_most = 50, stations_most = 50;

/// What one kind of evidence may carry, and how it becomes an event.
struct Kind {
  std::string_view name;
  Members members;
  event::Event (*read)(BodyReader&);
};

double length(BodyReader& body) {
  return body.quantity("values", quantity::parse_length_mm, a_length);
}

template <typename Event, double Event::*value>
event::Event one_length(BodyReader& body) {
  Event out;
  out.*value = length(body);
  return out;
}

event::Event rope_diameter(BodyReader& body) {
  event::RopeDiameter out;
  out.readings_mm = body.quantities("values", readings_most, quantity::parse_length_mm, a_length);
  return out;
}

/// With an angle encoder the press's own angle counts and nothing need be entered.
template <typename Event>
event::Event angle(BodyReader& body) {
  Event out;
  if (body.has("values") || body.has("gauge"))
    out.angle_deg = body.quantity("values", quantity::parse_angle_deg, an_angle);
  return out;
}

event::Event across_flats(BodyReader& body) {
  event::AcrossFlats out;
  out.stations_mm = body.triples("stations", stations_most, quantity::parse_length_mm, a_length);
  return out;
}

template <typename Event>
event::Event limit_gauge(BodyReader& body) {
  constexpr std::array<std::string_view, 2> results = {"passes", "stops"};
  Event out;
  out.result = body.choice("result", results) == 0 ? event::Limit::passes : event::Limit::stops;
  return out;
}

event::Event proof_load(BodyReader& body) {
  event::ProofLoad out;
  out.load_kn = body.amount("load", quantity::parse_force_kn, "a force with its unit, for example \"12 kN\"");
  out.held_s = body.amount("held", quantity::parse_duration_ms, "a time with its unit, \"180 s\"") / 1000;
  out.slip_mm = body.amount("slip", quantity::parse_length_mm, a_length);
  return out;
}

event::Event surface(BodyReader& body) {
  constexpr std::array<std::string_view, 4> results = {"sound", "cracked", "lapped", "wires_broken"};
  constexpr std::array seen = {event::Surface::sound, event::Surface::cracked, event::Surface::lapped,
                               event::Surface::wires_broken};
  return event::SurfaceSeen{seen.at(body.choice("result", results))};
}

const std::vector<Kind>& kinds() {
  static const Members measured = {"kind", "gauge", "values"};
  static const Members judged = {"kind", "gauge", "result"};
  static const std::vector<Kind> all = {
      {"rope_diameter", measured, rope_diameter},
      {"shank_diameter", measured, one_length<event::ShankDiameter, &event::ShankDiameter::value_mm>},
      {"bore_depth", measured, one_length<event::BoreDepth, &event::BoreDepth::value_mm>},
      {"depth_mark", measured, one_length<event::DepthMark, &event::DepthMark::from_rope_end_mm>},
      {"boundary_mark", measured, one_length<event::BoundaryMark, &event::BoundaryMark::from_mouth_mm>},
      {"insertion", measured, one_length<event::Insertion, &event::Insertion::mark_to_mouth_mm>},
      {"position", measured, one_length<event::Position, &event::Position::edge_mm>},
      {"turn", measured, angle<event::Turn>},
      {"reseated", measured, angle<event::Reseated>},
      {"across_flats", {"kind", "gauge", "stations"}, across_flats},
      {"go_gauge", judged, limit_gauge<event::GoGauge>},
      {"no_go_gauge", judged, limit_gauge<event::NoGoGauge>},
      {"growth", measured, one_length<event::Growth, &event::Growth::boundary_to_mouth_mm>},
      {"straightness", measured, one_length<event::Straightness, &event::Straightness::value_mm>},
      {"slip", measured, one_length<event::Slip, &event::Slip::mark_to_mouth_mm>},
      {"surface", judged, surface},
      {"proof_load", {"kind", "gauge", "load", "held", "slip"}, proof_load},
  };
  return all;
}

/// A value read with a gauge must say with which; a limit gauge is the recipe's own, and eyes need none.
std::string gauge_of(BodyReader& body) {
  return body.has("values") || body.has("stations") || body.has("load")
             ? body.text("gauge", a_gauge)
             : body.optional_text("gauge", a_gauge);
}

}  // namespace

std::span<const std::string_view> evidence_kinds() {
  static const auto names = [] {
    std::vector<std::string_view> out;
    for (const auto& kind : kinds()) out.push_back(kind.name);
    return out;
  }();
  return names;
}

Result<ports::StartFitting> read_start(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"recipe", "job", "rope_lot", "terminal_lot"};
  BodyReader reader(json.value(), known);
  ports::StartFitting start;
  start.recipe_id = reader.text("recipe", "the id of a recipe in the library");
  start.job = reader.text("job", "the job's name, 1 to 100 characters on one line");
  start.rope_lot = reader.text("rope_lot", "the id of a rope lot in the shop's register");
  start.terminal_lot = reader.text("terminal_lot", "the id of a terminal lot in the shop's register");
  if (reader.problem()) return *reader.problem();
  return start;
}

Result<ports::Act> read_evidence(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members any = {"kind", "gauge", "values", "stations", "result", "load", "held", "slip"};
  BodyReader first(json.value(), any);
  const std::size_t index = first.choice("kind", evidence_kinds());
  if (first.problem()) return *first.problem();

  const Kind& kind = kinds()[index];
  BodyReader reader(json.value(), kind.members);
  ports::Act act;
  act.event = kind.read(reader);
  act.gauge_id = gauge_of(reader);
  if (reader.problem()) return *reader.problem();
  return act;
}

Result<Disposition> read_disposition(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"disposition", "reason", "pin"};
  BodyReader reader(json.value(), known);
  constexpr std::array<std::string_view, 3> dispositions = {"scrap", "use_as_is", "return_to_work"};
  constexpr std::array meant = {event::Disposition::scrap, event::Disposition::use_as_is,
                                event::Disposition::return_to_work};
  event::Dispose dispose;
  dispose.disposition = meant.at(reader.choice("disposition", dispositions));
  Disposition out;
  out.act.reason = reader.free_text("reason", "the reviewer's reason, up to 2000 bytes of text");
  if (reader.has("pin")) out.pin = reader.secret("pin", "the reviewer's PIN");
  if (reader.problem()) return *reader.problem();
  // A blank reason is no reason: the procedure refuses it, and the refusal is on record.
  dispose.reason_given = out.act.reason.find_first_not_of(" \t\r\n") != std::string::npos;
  out.act.event = dispose;
  return out;
}

Result<std::string> read_take_over(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  const Members known = {"from"};
  BodyReader reader(json.value(), known);
  std::string from = reader.optional_text("from", "the id of the person whose screen holds control");
  if (reader.problem()) return *reader.problem();
  return from;
}

Result<bool> read_nothing(std::string_view body) {
  const auto json = parse_json(body);
  if (!json) return json.problem();
  BodyReader reader(json.value(), Members{});
  if (reader.problem()) return *reader.problem();
  return true;
}

}  // namespace shankwright::hmi
