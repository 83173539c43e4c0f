#pragma once
#include "papers/sheet.hpp"
#include "papers/words_of.hpp"

namespace shankwright::papers {

/// Every bite with what it came to, the forces it was judged by, and its trace drawn.
void bites_part(Sheet& sheet, const review::Evidence& evidence, UnitSystem units);

}  // namespace shankwright::papers
