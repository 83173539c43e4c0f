#pragma once
#include "papers/sheet.hpp"
#include "ports/ports.hpp"

namespace shankwright::papers {

/// The full code of a seal as a Data Matrix, with the words that say what it is and how the record is held
/// against it; code and symbol on one page.
void integrity_box(Sheet& sheet, const ports::Seal& seal);

/// The line for the foot of every page.
[[nodiscard]] std::string integrity_line(const ports::Seal& seal);

}  // namespace shankwright::papers
