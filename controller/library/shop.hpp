#pragma once
#include "library/library.hpp"
#include "library/node.hpp"
#include "library/reader.hpp"

namespace shankwright::library {

/// Reads a shop register. Without a library, what it names is not looked up.
[[nodiscard]] Shop read_shop(const Node& root, const Library* library, FaultList& faults, Places& places);

}  // namespace shankwright::library
