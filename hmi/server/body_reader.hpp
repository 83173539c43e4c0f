#pragma once
#include <array>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/result.hpp"

namespace shankwright::hmi {

/// Reads the members of one JSON object, one after another, and keeps the first problem with its place as a
/// JSON pointer (RFC 6901). After a problem every further read gives an empty value, so look at problem()
/// once at the end.
class BodyReader {
 public:
  /// Takes `parse` from quantity/quantity.hpp; `expected` completes the sentence "expected ...".
  using Parse = Result<double> (*)(std::string_view);

  /// Members other than `known` are a problem that names the nearest known one. `body` must outlive the
  /// reader.
  BodyReader(const nlohmann::json& body, std::span<const std::string_view> known);

  [[nodiscard]] const std::optional<Problem>& problem() const { return problem_; }
  [[nodiscard]] bool has(std::string_view member) const;

  /// A text of 1 to text_most bytes without control characters.
  std::string text(std::string_view member, std::string_view expected);
  /// As text(), or empty when the member is absent.
  std::string optional_text(std::string_view member, std::string_view expected);
  /// As text(), for what no answer may repeat: a Problem never shows it.
  std::string secret(std::string_view member, std::string_view expected);
  /// An array of texts, none twice.
  std::vector<std::string> texts(std::string_view member, std::size_t most, std::string_view expected);
  /// As text(), or nothing where the member is null.
  std::optional<std::string> text_or_null(std::string_view member, std::string_view expected);
  /// A text that may be blank or run over lines (a reason), up to reason_most bytes.
  std::string free_text(std::string_view member, std::string_view expected);
  /// One of `known`, as its index.
  std::size_t choice(std::string_view member, std::span<const std::string_view> known);
  /// Between 1 and `most` quantities.
  std::vector<double> quantities(std::string_view member, std::size_t most, Parse parse,
                                 std::string_view expected);
  /// Exactly one quantity, written as an array of one.
  double quantity(std::string_view member, Parse parse, std::string_view expected);
  /// One quantity, written as a text.
  double amount(std::string_view member, Parse parse, std::string_view expected);
  /// Between 1 and `most` rows of three quantities.
  std::vector<std::array<double, 3>> triples(std::string_view member, std::size_t most, Parse parse,
                                             std::string_view expected);

  static constexpr std::size_t text_most = 100;
  static constexpr std::size_t reason_most = 2000;

 private:
  const nlohmann::json* member(std::string_view name, std::string_view expected);
  double one(const nlohmann::json& value, const std::string& place, Parse parse, std::string_view expected);
  void fail(Problem problem);

  const nlohmann::json& body_;
  std::optional<Problem> problem_;
};

/// A member's place: "/" and the name, escaped as RFC 6901 says.
[[nodiscard]] std::string pointer_to(std::string_view member);

}  // namespace shankwright::hmi
