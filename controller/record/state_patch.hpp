#pragma once
#include <nlohmann/json.hpp>
#include <optional>
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

/// A fitting's state while its entries are followed one after the other: read once, changed in place.
class RunningState {
 public:
  RunningState() = default;
  explicit RunningState(std::string whole) : text_(std::move(whole)) {}
  /// Goes on to what a stored text makes of it. Throws as state_after().
  void follow(std::string_view stored);
  [[nodiscard]] bool empty() const { return !value_ && text_.empty(); }
  [[nodiscard]] std::string text() const { return changed_ ? value_->dump() : text_; }
  /// Discarded where the text is no JSON.
  [[nodiscard]] const nlohmann::json& value();

 private:
  std::string text_;                     ///< as it was last given whole
  std::optional<nlohmann::json> value_;  ///< what it reads as, once somebody has asked
  bool changed_ = false;                 ///< the value has gone on since
};

}  // namespace shankwright::record
