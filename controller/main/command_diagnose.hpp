#pragma once
#include <string>

namespace shankwright::record {
class SqliteStore;
}

namespace shankwright::command {

/// What the bites of a stored fitting most likely tell, as text or JSON on standard output. Returns the exit
/// code: 0 when every bite that could be diagnosed is most likely good, 1 when one is not. `library` may be
/// empty: then the sizes of the shop's other dies are not known.
[[nodiscard]] int diagnose(const record::SqliteStore& store, const std::string& serial,
                           const std::string& library, bool as_data);

}  // namespace shankwright::command
