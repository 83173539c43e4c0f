#pragma once
#include <string>
#include <string_view>

/// Most entries change one or two values of a fitting's state. From an entry's second on the record keeps
/// what changed, {"patch": {...}} as a merge patch (RFC 7396), in place of the whole state: a tenth of the
/// bytes.
namespace shankwright::record {

/// What is stored for `after` where the state before was `before`: the patch, or `after` as it is where a
/// patch would not give exactly its text back or would be longer.
[[nodiscard]] std::string stored_state(std::string_view before, std::string_view after);

/// The state that a stored text stands for. Throws std::runtime_error for a patch that does not fit.
[[nodiscard]] std::string state_after(std::string_view before, std::string_view stored);

}  // namespace shankwright::record
