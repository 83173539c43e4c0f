#pragma once
#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

/// What an entry's body and state say that people search for.
namespace shankwright::record {

struct EntryFacts {
  std::string gauge;                  ///< empty where none is named
  std::vector<std::string> findings;  ///< codes
  std::vector<std::string> texts;  ///< reasons, notes, remarks, texts of corrections, numbers of certificates
};

/// Nothing for a body that is not a JSON object: it stands for itself.
[[nodiscard]] EntryFacts facts_of(std::string_view body_json);

struct StateFacts {
  std::int64_t bites_done = 0;  ///< good ones
  bool re_pressed = false;
};

/// What a state counts; nothing where it counts none, or is no object.
[[nodiscard]] StateFacts facts_of_state(const nlohmann::json& state);

}  // namespace shankwright::record
