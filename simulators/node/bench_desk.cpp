#include "simulators/node/bench_desk.hpp"

#include <map>
#include <nlohmann/json.hpp>

#include "quantity/quantity.hpp"
#include "simulators/node/bench_body.hpp"

// What hands do: parts, marks, rope, position, contacts. Measuring and telling the state: bench_view.cpp.
namespace shankwright::node {
namespace {

using nlohmann::json;

constexpr auto a_length = "a length with its unit, for example \"52.1 mm\"";

/// Runs an act of hands on the part, which nobody does between moving dies.
template <typename Act>
auto by_hand(PressNode& node, Act&& act) {
  return node.with_bench([&](bench::Bench& bench, bool bite_runs) {
    if (bite_runs) throw Refused{409, {"/", "dies in motion", "the dies home before anybody reaches in"}};
    return act(bench);
  });
}

double done(const Result<double>& result) {
  if (!result.ok()) throw Refused{409, result.problem()};
  return result.value();
}

const std::map<std::string, bench::RopeChoice, std::less<>>& rope_choices() {
  static const std::map<std::string, bench::RopeChoice, std::less<>> choices{
      {"as_recipe", bench::RopeChoice::as_recipe},
      {"none", bench::RopeChoice::none},
      {"1x19", bench::RopeChoice::strand_1x19},
      {"7x7", bench::RopeChoice::rope_7x7},
      {"7x19", bench::RopeChoice::rope_7x19}};
  return choices;
}

bench::PartWish wish_of(const BenchBody& body) {
  bench::PartWish wish;
  if (body.has("rope")) {
    const std::string rope = body.text("rope", "as_recipe, none, 1x19, 7x7 or 7x19");
    const auto found = rope_choices().find(rope);
    if (found == rope_choices().end()) body.fail("rope", rope, "as_recipe, none, 1x19, 7x7 or 7x19");
    wish.rope = found->second;
  }
  if (!body.has("unlike")) return wish;
  const BenchBody unlike(
      body.need("unlike", "an object"),
      {"shank_diameter", "bore_diameter", "bore_depth", "rope_diameter", "flow_k", "friction", "grip"},
      "/unlike");
  const auto length = [&unlike](const char* key, std::optional<double>& into) {
    if (!unlike.has(key)) return;
    const double value = unlike.quantity(key, quantity::parse_length_mm, a_length);
    if (value < 0 || value > 500) unlike.fail(key, value, "a length from 0 to 500 mm");
    into = value;
  };
  length("shank_diameter", wish.shank_diameter_mm);
  length("bore_diameter", wish.bore_diameter_mm);
  length("bore_depth", wish.bore_depth_mm);
  length("rope_diameter", wish.rope_diameter_mm);
  if (unlike.has("flow_k")) {
    const double value =
        unlike.quantity("flow_k", quantity::parse_stress_mpa, "a stress, for example \"1275 MPa\"");
    if (value < 100 || value > 5000) unlike.fail("flow_k", value, "a stress from 100 to 5000 MPa");
    wish.flow_k_mpa = value;
  }
  if (unlike.has("friction")) wish.friction = unlike.number("friction", 0, 1);
  if (unlike.has("grip")) wish.grip = unlike.number("grip", 0, 1);
  return wish;
}

}  // namespace

json BenchDesk::part(const json& body) const {
  const BenchBody asked(body, {"recipe", "rope", "unlike"});
  const std::string id = asked.text("recipe", "the id of a recipe");
  const auto joined = library::join(library_, id);
  if (!joined.ok()) asked.fail("recipe", id, joined.problem().expected);
  const bench::PartWish wish = wish_of(asked);
  return by_hand(node_, [&](bench::Bench& bench) {
    return json{{"part", bench.new_part(joined.value(), wish)}};
  });
}

json BenchDesk::die(const json& body) const {
  const BenchBody asked(body, {"tag", "wear"});
  std::optional<double> wear_mm;
  if (asked.has("wear")) wear_mm = asked.quantity("wear", quantity::parse_length_mm, a_length);
  if (wear_mm && !(*wear_mm >= 0 && *wear_mm <= 2)) asked.fail("wear", body.at("wear"), "0 mm to 2 mm");
  const int tag = asked.whole("tag", 0, 65535);
  std::optional<recipe::DiePair> pair;
  std::string known = "0";
  for (const auto& [id, one] : library_.die_pairs) {
    known += ", " + std::to_string(one.tag) + " (" + id + ")";
    if (tag != 0 && one.tag == tag) pair = one;
  }
  if (tag != 0 && !pair) asked.fail("tag", tag, "one of " + known);
  return by_hand(node_, [&](bench::Bench& bench) {
    bench.mount(pair, wear_mm);
    return json{{"die_tag", bench.die_tag()}};
  });
}

json BenchDesk::mark(const json& body) const {
  const BenchBody asked(body, {"which", "aimed"});
  const std::string which = asked.text("which", "depth or boundary");
  if (which != "depth" && which != "boundary") asked.fail("which", which, "depth or boundary");
  const double aimed_mm = asked.quantity("aimed", quantity::parse_length_mm, a_length);
  return by_hand(node_, [&](bench::Bench& bench) {
    return json{
        {"made_mm", done(which == "depth" ? bench.mark_depth(aimed_mm) : bench.mark_boundary(aimed_mm))}};
  });
}

json BenchDesk::insert(const json& body) const {
  const BenchBody asked(body, {"short_by"});
  const double short_by_mm =
      asked.has("short_by") ? asked.quantity("short_by", quantity::parse_length_mm, a_length) : 0.0;
  return by_hand(node_, [&](bench::Bench& bench) {
    return json{{"short_by_mm", done(bench.insert(short_by_mm))}};
  });
}

json BenchDesk::pull_out(const json& body) const {
  const BenchBody asked(body, {});
  return by_hand(node_, [&](bench::Bench& bench) {
    static_cast<void>(done(bench.pull_out()));
    return json{{"rope_in", false}};
  });
}

json BenchDesk::position(const json& body) const {
  const BenchBody asked(body, {"edge"});
  const double edge_mm =
      asked.quantity("edge", quantity::parse_length_mm, "a length with its unit, \"1.85 mm\"");
  return by_hand(node_, [&](bench::Bench& bench) {
    return json{{"edge_mm", done(bench.position(edge_mm))}};
  });
}

json BenchDesk::turn(const json& body) const {
  const BenchBody asked(body, {"by"});
  const double by_deg = asked.quantity("by", quantity::parse_angle_deg, "an angle with its unit, \"90 deg\"");
  return by_hand(node_, [&](bench::Bench& bench) { return json{{"angle_deg", done(bench.turn(by_deg))}}; });
}

json BenchDesk::take_out(const json& body) const {
  const BenchBody asked(body, {});
  return by_hand(node_, [&](bench::Bench& bench) {
    bench.take_out_of_dies();
    return json{{"shank_present", bench.shank_present()}};
  });
}

json BenchDesk::hands(const json& body) const {
  const bool on = BenchBody(body, {"on"}).flag("on");
  node_.change_contacts([on](Contacts& contacts) { contacts.both_hands_on = on; });
  return {{"hands", on}};
}

json BenchDesk::guard(const json& body) const {
  const bool closed = BenchBody(body, {"closed"}).flag("closed");
  node_.change_contacts([closed](Contacts& contacts) { contacts.guard_closed = closed; });
  return {{"guard", closed}};
}

json BenchDesk::emergency(const json& body) const {
  const bool healthy = BenchBody(body, {"healthy"}).flag("healthy");
  node_.change_contacts([healthy](Contacts& contacts) { contacts.emergency_circuit_healthy = healthy; });
  return {{"emergency_healthy", healthy}};
}

json BenchDesk::remote(const json& body) const {
  const bool selected = BenchBody(body, {"selected"}).flag("selected");
  node_.change_contacts([selected](Contacts& contacts) { contacts.remote_selected = selected; });
  return {{"remote", selected}};
}

/// {"relief_valve_bar": 180}, {"sensor": "pressure_frozen"}, {"link_dropped": true, "for_ms": 2000}, {"none":
/// true}.
json BenchDesk::fault(const json& body) const {
  if (!body.is_object()) throw Refused{400, {"/", as_found(body), "a JSON object"}};
  struct Wish {
    const FaultDescription* description;
    double value;
    bool on;
  };
  std::vector<Wish> wishes;
  std::string names = "none, for_ms, sensor, link, node";
  for (const auto& description : fault_descriptions()) names += ", " + std::string(description.name);
  std::int64_t length_ms = no_end_ms;
  bool none = false;
  for (const auto& [key, value] : body.items()) {
    const auto refuse = [&key, &value](const std::string& expected) {
      throw Refused{400, {"/" + key, as_found(value), expected}};
    };
    if (key == "none") {
      if (!value.is_boolean()) refuse("true or false");
      none = value.get<bool>();
    } else if (key == "for_ms") {
      if (!value.is_number() || !(value.get<double>() >= 1 && value.get<double>() <= 1e9))
        refuse("1 to 1e9 ms");
      length_ms = static_cast<std::int64_t>(value.get<double>());
    } else if (key == "sensor" || key == "link" || key == "node") {
      const FaultDescription* description =
          value.is_string() ? find_fault(value.get<std::string>()) : nullptr;
      if (description == nullptr || description->has_value) refuse("the name of a fault without a value");
      wishes.push_back({description, 0, true});
    } else {
      const FaultDescription* description = find_fault(key);
      if (description == nullptr) refuse("one of " + names);
      if (value.is_boolean() && (!description->has_value || !value.get<bool>())) {
        wishes.push_back({description, 0, value.get<bool>()});
      } else if (description->has_value && value.is_number() && value.get<double>() >= description->least &&
                 value.get<double>() <= description->most) {
        wishes.push_back({description, value.get<double>(), true});
      } else {
        refuse(description->has_value ? "a number from " + as_found(description->least) + " to " +
                                            as_found(description->most) + ", or false"
                                      : std::string("true or false"));
      }
    }
  }
  if (none) node_.clear_faults();
  for (const Wish& wish : wishes)
    node_.set_fault(wish.description->kind, wish.value, wish.on ? length_ms : 0);
  return json::parse(state().json)["faults"];
}

DeskReply BenchDesk::act(std::string_view act, const std::string& body) const {
  using Handler = json (BenchDesk::*)(const json&) const;
  static const std::map<std::string_view, Handler> handlers{
      {"part", &BenchDesk::part},           {"die", &BenchDesk::die},
      {"mark", &BenchDesk::mark},           {"insert", &BenchDesk::insert},
      {"pull_out", &BenchDesk::pull_out},   {"position", &BenchDesk::position},
      {"turn", &BenchDesk::turn},           {"take_out", &BenchDesk::take_out},
      {"hands", &BenchDesk::hands},         {"guard", &BenchDesk::guard},
      {"emergency", &BenchDesk::emergency}, {"remote", &BenchDesk::remote},
      {"measure", &BenchDesk::measure},     {"fault", &BenchDesk::fault}};
  const auto refusal = [](int status, const Problem& problem) {
    const json text{{"problem",
                     {{"place", problem.place.empty() ? "/" : problem.place},
                      {"found", problem.found},
                      {"expected", problem.expected}}}};
    return DeskReply{status, text.dump(-1, ' ', false, json::error_handler_t::replace)};
  };
  const auto handler = handlers.find(act);
  if (handler == handlers.end()) {
    std::string names;
    for (const auto& [name, unused] : handlers) names += (names.empty() ? "" : ", ") + std::string(name);
    return refusal(404, {"path", std::string(act), "one of " + names});
  }
  const json parsed = body.empty() ? json::object() : json::parse(body, nullptr, false);
  if (parsed.is_discarded()) return refusal(400, {"body", "text that is not JSON", "a JSON object"});
  try {
    return {200, (this->*handler->second)(parsed).dump()};
  } catch (const Refused& refused) {
    return refusal(refused.status, refused.problem);
  }
}

}  // namespace shankwright::node
