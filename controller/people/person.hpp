#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

/// Who may do what at a station.
namespace shankwright::people {

struct Person {
  std::string id, name;
  bool operator_role = false, technician_role = false, planner_role = false, reviewer_role = false;
  std::map<std::string, std::int64_t> qualified_until_day;  ///< recipe family -> last day since 1970-01-01
  bool administrator_role = false;
};

/// The people of one shop as they stand now: rights can change between two calls. Any thread may ask.
class People {
 public:
  virtual ~People() = default;
  [[nodiscard]] virtual std::optional<Person> person(const std::string& id) const = 0;
  [[nodiscard]] virtual std::vector<Person> all() const = 0;  ///< by id
};

/// People whose rights never change.
class FixedPeople final : public People {
 public:
  explicit FixedPeople(std::map<std::string, Person> people) : people_(std::move(people)) {}
  [[nodiscard]] std::optional<Person> person(const std::string& id) const override {
    const auto found = people_.find(id);
    return found == people_.end() ? std::nullopt : std::optional(found->second);
  }
  [[nodiscard]] std::vector<Person> all() const override {
    std::vector<Person> out;
    for (const auto& [id, person] : people_) out.push_back(person);
    return out;
  }

 private:
  std::map<std::string, Person> people_;
};

}  // namespace shankwright::people
