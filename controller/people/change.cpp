#include "people/change.hpp"

#include <nlohmann/json.hpp>

#include "people/rights_json.hpp"
#include "people/roles.hpp"

namespace shankwright::people {
namespace {

using Json = nlohmann::ordered_json;

std::string body(const std::string& person, Json before, Json after) {
  return Json{{"person", person}, {"before", std::move(before)}, {"after", std::move(after)}}.dump();
}

Json digest_or_null(const std::string& digest) {
  return digest.empty() ? Json(nullptr) : Json(digest);
}

Json lock(int failures, std::int64_t until_utc_us) {
  if (failures == 0) return nullptr;
  return {{"failures", failures}, {"until_utc_us", until_utc_us}};
}

}  // namespace

std::string person_added_body(const Person& after) {
  return body(after.id, nullptr, rights_json(after));
}

std::string roles_changed_body(const Account& before, const std::vector<std::string>& after) {
  return body(before.person.id, roles_of(before.person), after);
}

std::string qualification_changed_body(const Account& before, const std::string& family,
                                       std::optional<std::int64_t> until_day) {
  const auto& now = before.person.qualified_until_day;
  const auto had = now.find(family);
  return Json{{"person", before.person.id},
              {"family", family},
              {"before", had == now.end() ? Json(nullptr) : Json(day_text(had->second))},
              {"after", until_day ? Json(day_text(*until_day)) : Json(nullptr)}}
      .dump();
}

std::string code_issued_body(const Account& before, const std::string& digest, std::int64_t until_utc_us) {
  Json after{{"blake2b_256", digest}};
  after["until_utc_us"] = until_utc_us == 0 ? Json(nullptr) : Json(until_utc_us);
  return body(before.person.id, digest_or_null(before.code_digest), std::move(after));
}

std::string pin_set_body(const Account& before, const std::string& digest, std::string_view by) {
  return Json{{"person", before.person.id},
              {"before", digest_or_null(before.pin_digest)},
              {"after", digest},
              {"by", by}}
      .dump();
}

std::string locked_out_body(const Account& before, int failures, std::int64_t until_utc_us,
                            const std::string& from_address) {
  Json after = lock(failures, until_utc_us);
  if (!from_address.empty()) after["from"] = from_address;
  return body(before.person.id, lock(before.failures, before.locked_until_utc_us), std::move(after));
}

std::string unlocked_body(const Account& before, std::string_view why) {
  return Json{{"person", before.person.id},
              {"before", lock(before.failures, before.locked_until_utc_us)},
              {"after", nullptr},
              {"why", why}}
      .dump();
}

std::string removed_body(const Account& before) {
  return body(before.person.id, rights_json(before.person), nullptr);
}

}  // namespace shankwright::people
