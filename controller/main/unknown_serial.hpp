#pragma once
#include <string>

#include "quantity/result.hpp"

namespace shankwright::record {
class SqliteStore;
}

namespace shankwright::command {

/// Nobody by that serial: says so on stderr, or on stdout as JSON, with what may have been meant and whether
/// it was mistyped. The exit code, 1.
int unknown_serial(const record::SqliteStore& store, const std::string& typed, const Problem& problem,
                   bool as_data);

}  // namespace shankwright::command
