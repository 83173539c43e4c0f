#include <catch2/catch.hpp>
#include <set>

#include "client.hpp"
#include "hmi/server/json_in.hpp"
#include "wording/wording.hpp"

// Goal: no body is half understood. Method: every kind of evidence with its sound body, then with each member
// missing, misspelt, of another type and without its unit; each refusal names the place.
using namespace shankwright;
using nlohmann::json;

namespace {

std::vector<json> sound_bodies() {
  std::vector<json> out = {
      {{"kind", "rope_diameter"}, {"gauge", "caliper-1"}, {"values", {"4.77 mm", "4.76 mm", "4.78 mm"}}},
      {{"kind", "across_flats"},
       {"gauge", "micrometer-1"},
       {"stations", {{"7.97 mm", "7.98 mm", "7.97 mm"}, {"7.96 mm", "7.98 mm", "7.97 mm"}}}},
      {{"kind", "go_gauge"}, {"result", "passes"}},
      {{"kind", "no_go_gauge"}, {"result", "stops"}, {"gauge", "no-go-1"}},
      {{"kind", "surface"}, {"result", "sound"}},
      {{"kind", "proof_load"},
       {"gauge", "load-cell-1"},
       {"load", "12.1 kN"},
       {"held", "185 s"},
       {"slip", "0.1 mm"}}};
  for (const char* kind : {"shank_diameter", "bore_depth", "depth_mark", "boundary_mark", "insertion",
                           "position", "growth", "straightness", "slip"})
    out.push_back({{"kind", kind}, {"gauge", "caliper-1"}, {"values", json::array({"9.12 mm"})}});
  for (const char* kind : {"turn", "reseated"})
    out.push_back({{"kind", kind}, {"gauge", "protractor-1"}, {"values", json::array({"90 deg"})}});
  return out;
}

std::optional<Problem> problem_of(const json& body) {
  const auto read = hmi::read_evidence(body.dump());
  return read.ok() ? std::nullopt : std::optional(read.problem());
}

}  // namespace

TEST_CASE("every kind of evidence becomes the event of its name") {
  std::set<std::string_view> seen;
  for (const auto& body : sound_bodies()) {
    const auto read = hmi::read_evidence(body.dump());
    INFO(body.dump());
    REQUIRE(read.ok());
    CHECK(wording::event_name(read.value().event) == body.at("kind").get<std::string>());
    CHECK(read.value().gauge_id == body.value("gauge", ""));
    seen.insert(wording::event_name(read.value().event));
  }
  for (const auto kind : hmi::evidence_kinds()) CHECK(seen.count(kind) == 1);
  CHECK(seen.size() == hmi::evidence_kinds().size());
}

TEST_CASE("quantities arrive in millimetres and degrees whatever unit they were written in") {
  // NIST SP 811 (2008), Appendix B.9: 1 in = 25.4 mm exactly
  const auto value = [](const char* kind, const char* text) {
    const auto read =
        hmi::read_evidence(json{{"kind", kind}, {"gauge", "g"}, {"values", json::array({text})}}.dump());
    REQUIRE(read.ok());
    return read.value().event;
  };
  CHECK(std::get<procedure::ShankDiameter>(value("shank_diameter", "0.375 in")).value_mm ==
        Approx(9.525).epsilon(1e-12));
  CHECK(std::get<procedure::ShankDiameter>(value("shank_diameter", "3/8 in")).value_mm ==
        Approx(9.525).epsilon(1e-12));
  CHECK(std::get<procedure::Insertion>(value("insertion", "-0.4 mm")).mark_to_mouth_mm == Approx(-0.4));
  CHECK(std::get<procedure::BoreDepth>(value("bore_depth", "52.1 mm")).value_mm == Approx(52.1));
  CHECK(std::get<procedure::DepthMark>(value("depth_mark", "52.1 mm")).from_rope_end_mm == Approx(52.1));
  CHECK(std::get<procedure::BoundaryMark>(value("boundary_mark", "52.1 mm")).from_mouth_mm == Approx(52.1));
  CHECK(std::get<procedure::Position>(value("position", "1.9 mm")).edge_mm == Approx(1.9));
  CHECK(std::get<procedure::Growth>(value("growth", "57.6 mm")).boundary_to_mouth_mm == Approx(57.6));
  CHECK(std::get<procedure::Straightness>(value("straightness", "100 um")).value_mm == Approx(0.1));
  CHECK(std::get<procedure::Slip>(value("slip", "-5.3 mm")).mark_to_mouth_mm == Approx(-5.3));
  CHECK(std::get<procedure::Turn>(value("turn", "90 deg")).angle_deg == Approx(90));
  CHECK(std::get<procedure::Reseated>(value("reseated", "1.5 deg")).angle_deg == Approx(1.5));
}

TEST_CASE("a proof load arrives in kilonewtons, seconds and millimetres") {
  const auto read = hmi::read_evidence(
      R"({"kind":"proof_load","gauge":"load-cell-1","load":"2000 lbf","held":"3 min","slip":"0.01 in"})");
  REQUIRE(read.ok());
  const auto pull = std::get<procedure::ProofLoad>(read.value().event);
  // NIST SP 811 (2008), Appendix B.8: 1 lbf = 4.448 222 N
  CHECK(pull.load_kn == Approx(8.896444).epsilon(1e-6));
  CHECK(pull.held_s == Approx(180));
  CHECK(pull.slip_mm == Approx(0.254));
  CHECK(
      problem_of({{"kind", "proof_load"}, {"gauge", "g"}, {"load", "12"}, {"held", "1 s"}, {"slip", "0 mm"}})
          ->place == "/load");
  CHECK(problem_of({{"kind", "proof_load"}, {"load", "12 kN"}, {"held", "1 s"}, {"slip", "0 mm"}})->place ==
        "/gauge");
}

TEST_CASE("results become what was seen") {
  const auto event = [](const char* kind, const char* result) {
    return hmi::read_evidence(json{{"kind", kind}, {"result", result}}.dump()).value().event;
  };
  CHECK(std::get<procedure::GoGauge>(event("go_gauge", "passes")).result == procedure::Limit::passes);
  CHECK(std::get<procedure::GoGauge>(event("go_gauge", "stops")).result == procedure::Limit::stops);
  CHECK(std::get<procedure::NoGoGauge>(event("no_go_gauge", "stops")).result == procedure::Limit::stops);
  for (const auto seen : {procedure::Surface::sound, procedure::Surface::cracked, procedure::Surface::lapped,
                          procedure::Surface::wires_broken})
    CHECK(std::get<procedure::SurfaceSeen>(event("surface", std::string(wording::name_of(seen)).c_str()))
              .surface == seen);
}

TEST_CASE("with an angle encoder a turn is confirmed without a reading") {
  for (const char* kind : {"turn", "reseated"}) {
    const auto read = hmi::read_evidence(json{{"kind", kind}}.dump());
    REQUIRE(read.ok());
    CHECK(read.value().gauge_id.empty());
    CHECK(problem_of({{"kind", kind}, {"gauge", "protractor-1"}})->place == "/values");
    CHECK(problem_of({{"kind", kind}, {"values", json::array({"90 deg"})}})->place == "/gauge");
  }
}

TEST_CASE("a member missing, misspelt or of another type is refused at its place") {
  for (const auto& body : sound_bodies()) {
    const bool limit_gauge = body.contains("result");
    for (const auto& [member, value] : body.items()) {
      INFO(body.dump() << ' ' << member);
      json missing = body;
      missing.erase(member);
      const bool optional = limit_gauge && member == "gauge";
      if (optional)
        CHECK_FALSE(problem_of(missing));
      else
        CHECK(problem_of(missing)->place == "/" + member);

      json misspelt = missing;
      misspelt[member + "s"] = value;
      const auto problem = problem_of(misspelt);
      REQUIRE(problem);
      CHECK(problem->place == "/" + member + "s");
      CHECK(problem->expected.find("the nearest is \"" + member + "\"") != std::string::npos);

      for (const json& other :
           {json(nullptr), json(true), json(4.77), json(json::object()), json::array(), json("")}) {
        json changed = body;
        changed[member] = other;
        INFO(other.dump());
        REQUIRE(problem_of(changed));
        CHECK(problem_of(changed)->place.starts_with("/" + member));
      }
    }
    json more = body;
    more["colour"] = "red";
    CHECK(problem_of(more)->place == "/colour");
  }
}

TEST_CASE("a bare number is refused wherever a quantity is due, with an example of what is taken") {
  for (const auto& body : sound_bodies()) {
    for (const char* list : {"values", "stations"}) {
      if (!body.contains(list)) continue;
      const auto pointer =
          json::json_pointer(std::string("/") + list + (body.at(list).at(0).is_array() ? "/0/0" : "/0"));
      for (const json& bare : {json("4.77"), json(4.77), json("4.77 kN"), json("nan mm"), json("inf mm"),
                               json("1e999 mm"), json("4,77 mm"), json("4.77 mm, about"), json(nullptr),
                               json("mm"), json(std::string(5000, '9') + " mm")}) {
        json changed = body;
        changed[pointer] = bare;
        const auto problem = problem_of(changed);
        INFO(changed.dump().substr(0, 200));
        REQUIRE(problem);
        CHECK(problem->place == pointer.to_string());
        CHECK(problem->expected.find("with its unit, for example \"") != std::string::npos);
        CHECK(problem->found.size() <= 110);
      }
    }
  }
  CHECK(problem_of({{"kind", "rope_diameter"}, {"gauge", "c"}, {"values", {"4.77 mm", "4.77"}}}) ==
        Problem{"/values/1", "4.77", "a length with its unit, for example \"7.95 mm\""});
}

TEST_CASE("the number of values is that of the kind") {
  const auto with = [](const char* kind, const json& values) {
    return problem_of({{"kind", kind}, {"gauge", "g"}, {"values", values}});
  };
  CHECK(with("shank_diameter", {"9 mm", "9 mm"})->place == "/values");
  CHECK(with("rope_diameter", json::array())->place == "/values");
  CHECK_FALSE(with("rope_diameter", std::vector<std::string>(50, "4.77 mm")));
  CHECK(with("rope_diameter", std::vector<std::string>(51, "4.77 mm"))->place == "/values");
  const json two_flats = json::array({json::array({"7.97 mm", "7.98 mm"})});
  CHECK(problem_of({{"kind", "across_flats"}, {"gauge", "g"}, {"stations", two_flats}})->place ==
        "/stations/0");
}

TEST_CASE("a misspelt kind is answered with the nearest one") {
  CHECK(problem_of({{"kind", "bore_dept"}})->expected.find("the nearest is \"bore_depth\"") !=
        std::string::npos);
  CHECK(problem_of({{"kind", "admit"}})->place == "/kind");  // events of the station itself cannot be sent in
  CHECK(problem_of({{"kind", "permit_durable"}})->place == "/kind");
  CHECK(problem_of({{"kind", "bite_finished"}})->place == "/kind");
}

TEST_CASE("texts that are not one sound JSON object are refused") {
  for (const std::string text :
       {"[]", "null", "1", "\"a\"", "{", "{\"kind\":}", "{\"kind\":\"surface\"}x", "{'kind':'surface'}",
        "{\"kind\":\"sur\xff\"}", "{\"kind\":\"surface\",\"kind\":\"surface\",\"result\":\"sound\"}",
        "{\"kind\":1e999}"}) {
    INFO(text);
    CHECK_FALSE(hmi::read_evidence(text).ok());
  }
  const std::string deep = std::string(30'000, '[') + std::string(30'000, ']');
  const auto read = hmi::read_evidence(R"({"kind":)" + deep + "}");
  REQUIRE_FALSE(read.ok());
  CHECK(read.problem().found == "more than 8 levels of nesting");
  CHECK(hmi::read_nothing("").ok());
  CHECK(hmi::read_nothing(" \r\n").ok());
  CHECK_FALSE(hmi::read_nothing(R"({"now":true})").ok());
}

TEST_CASE("a start wants four names on one line each") {
  const json sound = {{"recipe", "r"}, {"job", "j"}, {"rope_lot", "a"}, {"terminal_lot", "b"}};
  REQUIRE(hmi::read_start(sound.dump()).ok());
  for (const auto& [member, value] : sound.items()) {
    json changed = sound;
    for (const json& bad :
         {json(""), json("two\nlines"), json(std::string(101, 'a')), json(7), json(nullptr)}) {
      changed[member] = bad;
      const auto read = hmi::read_start(changed.dump());
      REQUIRE_FALSE(read.ok());
      CHECK(read.problem().place == "/" + member);
    }
    changed.erase(member);
    CHECK(hmi::read_start(changed.dump()).problem().place == "/" + member);
  }
}
