#pragma once
#include <cstdint>
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

/// The good bites that a state counts; 0 where it counts none.
[[nodiscard]] std::int64_t bites_done(std::string_view state_json);

}  // namespace shankwright::record
