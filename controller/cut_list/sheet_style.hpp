#pragma once
#include <string_view>

namespace shankwright::cut_list {

/// The sheet's style, for A4 in black and white as well as on a screen.
[[nodiscard]] std::string_view sheet_style();

}  // namespace shankwright::cut_list
