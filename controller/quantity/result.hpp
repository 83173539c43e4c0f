#pragma once
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <variant>

namespace shankwright {

/// Why something from outside was not taken, in words a person can act on.
struct Problem {
  std::string place;  ///< where: "file:line:column", a JSON pointer, a register; empty when the caller knows
  std::string found;  ///< what was there, as it was written
  std::string expected;  ///< what is taken instead, with an example where that helps

  bool operator==(const Problem&) const = default;
  /// "place: found X, expected Y"
  [[nodiscard]] std::string text() const {
    std::string out = place.empty() ? "" : place + ": ";
    return out + "found " + found + ", expected " + expected;
  }
};

/// A value, or the reason there is none. Must be looked at. Reading the value of a failed result is our own
/// mistake and throws std::logic_error.
template <typename T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::move(value)) {}  // NOLINT(google-explicit-constructor): reads as a return
  Result(Problem problem) : held_(std::move(problem)) {}  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool ok() const { return std::holds_alternative<T>(held_); }
  explicit operator bool() const { return ok(); }
  [[nodiscard]] const T& value() const& {
    must_be(true);
    return std::get<T>(held_);
  }
  /// Of a result nobody keeps: the value itself, so that looping over it does not look into what is gone.
  [[nodiscard]] T value() && {
    must_be(true);
    return std::get<T>(std::move(held_));
  }
  [[nodiscard]] const Problem& problem() const& {
    must_be(false);
    return std::get<Problem>(held_);
  }
  [[nodiscard]] Problem problem() && {
    must_be(false);
    return std::get<Problem>(std::move(held_));
  }

 private:
  void must_be(bool good) const {
    if (ok() == good) return;
    if (good) throw std::logic_error("value() of a failed result: " + std::get<Problem>(held_).text());
    throw std::logic_error("problem() of a good result");
  }

  std::variant<T, Problem> held_;
};

}  // namespace shankwright
