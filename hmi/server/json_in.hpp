#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "people/person.hpp"
#include "ports/station_port.hpp"
#include "quantity/result.hpp"

/// Bodies of requests to checked values. Each takes the text of a body; problems name the place as a JSON
/// pointer.
namespace shankwright::hmi {

/// {"person":"<id>"} with either "pin" or "code"; the other is empty. Problems never show them.
struct SignIn {
  std::string person, pin, code;
};
[[nodiscard]] Result<SignIn> read_sign_in(std::string_view body);

/// {"pin"}, and "old_pin" where `with_old`; without it the old one is empty.
struct NewPin {
  std::string pin, old_pin;
};
[[nodiscard]] Result<NewPin> read_new_pin(std::string_view body, bool with_old);
/// {"pin"}
[[nodiscard]] Result<std::string> read_pin(std::string_view body);

/// {"id","name","roles"} and perhaps "qualified":{family: "YYYY-MM-DD"}.
[[nodiscard]] Result<people::Person> read_new_person(std::string_view body);
/// {"roles":[...]}
[[nodiscard]] Result<std::vector<std::string>> read_roles(std::string_view body);
/// {"family","until":"YYYY-MM-DD" or null}
struct Qualification {
  std::string family;
  std::optional<std::int64_t> until_day;
};
[[nodiscard]] Result<Qualification> read_qualification(std::string_view body);

/// {"recipe","job","rope_lot","terminal_lot"}; operator_id is left empty for the caller, who knows who asks.
[[nodiscard]] Result<ports::StartFitting> read_start(std::string_view body);

/// Any evidence body; serial and actor are left empty for the caller. Lengths in mm and angles in degrees
/// inside.
[[nodiscard]] Result<ports::Act> read_evidence(std::string_view body);

/// {"disposition":"scrap"|"use_as_is"|"return_to_work","reason":"..."} and perhaps "pin".
struct Disposition {
  ports::Act act;
  std::optional<std::string> pin;
};
[[nodiscard]] Result<Disposition> read_disposition(std::string_view body);

/// {} or nothing: what acts without values send. Gives true.
/// {"from": id of the person whose screen holds control}; absent when nobody's does: empty.
[[nodiscard]] Result<std::string> read_take_over(std::string_view body);
[[nodiscard]] Result<bool> read_nothing(std::string_view body);

/// Kinds of evidence, in the order of work.
[[nodiscard]] std::span<const std::string_view> evidence_kinds();

}  // namespace shankwright::hmi
