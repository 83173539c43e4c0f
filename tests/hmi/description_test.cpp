#include <yaml-cpp/yaml.h>

#include <catch2/catch.hpp>
#include <set>

#include "hmi/server/json_in.hpp"
#include "hmi/server/page.hpp"
#include "hmi/server/routes.hpp"
#include "wording/wording.hpp"

// hmi/openapi.yaml and the program say the same. That the document itself is valid, and that answers fit its
// schemas, is checked by independent tools in openapi/check.mjs.
using namespace shankwright;

namespace {

std::set<std::string> texts(const YAML::Node& list) {
  std::set<std::string> out;
  for (const auto& item : list) out.insert(item.as<std::string>());
  return out;
}

YAML::Node description() {
  return YAML::LoadFile(std::string(SOURCE_DIR) + "/hmi/openapi.yaml");
}

}  // namespace

TEST_CASE("every route of the server is described, and nothing else is") {
  std::set<std::string> described, served;
  const auto paths = description()["paths"];
  for (const auto& path : paths)
    for (const char* method : {"get", "post", "put", "patch", "delete", "options", "head"})
      if (path.second[method]) described.insert(std::string(method) + " " + path.first.as<std::string>());
  for (const auto& route : hmi::routes()) {
    std::string method(route.method);
    for (auto& c : method) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    served.insert(method + " " + std::string(route.path));
  }
  CHECK(described == served);
  CHECK(served.size() == hmi::routes().size());
}

TEST_CASE("routes that want a session say so, and the others say that they do not") {
  const auto paths = description()["paths"];
  for (const auto& route : hmi::routes()) {
    std::string method(route.method);
    for (auto& c : method) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    const auto operation = paths[std::string(route.path)][method];
    INFO(method << ' ' << route.path);
    const bool open = operation["security"].IsDefined() && operation["security"].size() == 0;
    CHECK(open == (route.access == hmi::Access::open));
    CHECK(operation["responses"]["401"].IsDefined() == (!open || route.path == "/api/v1/session"));
  }
}

TEST_CASE("the description names every finding, stage and kind of evidence") {
  const auto schemas = description()["components"]["schemas"];
  std::set<std::string> codes, stages, kinds;
  for (int i = 1; i < static_cast<int>(procedure::Code::count_); ++i)
    codes.emplace(wording::name_of(static_cast<procedure::Code>(i)));
  for (int i = 1; i <= static_cast<int>(procedure::Stage::aside); ++i)
    stages.emplace(wording::name_of(static_cast<procedure::Stage>(i)));
  for (const auto kind : hmi::evidence_kinds()) kinds.emplace(kind);
  CHECK(texts(schemas["FindingCode"]["enum"]) == codes);
  CHECK(texts(schemas["Stage"]["enum"]) == stages);
  CHECK(texts(schemas["EvidenceKind"]["enum"]) == kinds);
}

TEST_CASE("every example of evidence in the description is taken") {
  const auto examples = description()["paths"]["/api/v1/fittings/{serial}/evidence"]["post"]["requestBody"]
                                     ["content"]["application/json"]["examples"];
  std::set<std::string> seen;
  for (const auto& example : examples) {
    YAML::Emitter json;
    json.SetMapFormat(YAML::Flow);
    json.SetSeqFormat(YAML::Flow);
    json.SetStringFormat(YAML::DoubleQuoted);
    json << example.second["value"];
    INFO(json.c_str());
    const auto read = hmi::read_evidence(json.c_str());
    if (!read.ok()) FAIL(read.problem().text());
    seen.emplace(wording::event_name(read.value().event));
  }
  for (const auto kind : hmi::evidence_kinds()) CHECK(seen.count(std::string(kind)) == 1);
}

TEST_CASE("the description served is the file") {
  CHECK(YAML::Dump(YAML::Load(std::string(hmi::openapi_text()))) == YAML::Dump(description()));
}
