#include "record/seal_code.hpp"

#include <algorithm>
#include <charconv>
#include <vector>

#include "record/serial.hpp"

namespace shankwright::record {
namespace {

constexpr std::size_t short_digits = 20, key_digits = 16, head_digits = 64, signature_digits = 128;
constexpr std::string_view full_mark = "SWS1";

std::string in_case(std::string_view text, bool capitals) {
  std::string out(text);
  for (char& character : out) {
    if (capitals && character >= 'a' && character <= 'z') character = static_cast<char>(character - 32);
    if (!capitals && character >= 'A' && character <= 'Z') character = static_cast<char>(character + 32);
  }
  return out;
}

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> out(1);
  for (const char character : text) {
    if (character == at)
      out.emplace_back();
    else
      out.back() += character;
  }
  return out;
}

bool hex_digits(const std::string& text, std::size_t count) {
  return text.size() == count && text.find_first_not_of("0123456789abcdefABCDEF") == std::string::npos;
}

std::optional<std::int64_t> whole(const std::string& text) {
  std::int64_t out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (error != std::errc() || end != text.data() + text.size() || out < 1) return std::nullopt;
  return out;
}

Problem wrong(std::string_view typed, const char* expected) {
  return {"code", "\"" + std::string(typed.substr(0, 60)) + (typed.size() > 60 ? "...\"" : "\""), expected};
}

}  // namespace

std::string full_code(const ports::Seal& seal) {
  return std::string(full_mark) + "." + std::to_string(seal.sequence) + "." +
         seal.public_key_hex.substr(0, key_digits) + "." + seal.head_hex + "." + seal.signature_hex;
}

std::string short_code(const ports::Seal& seal) {
  const auto sequence = std::to_string(seal.sequence);
  const auto digits = in_case(seal.head_hex.substr(0, short_digits), true);
  const auto check = check_characters(sequence + digits).value();
  return sequence + "-" + digits + "-" + check[0] + check[1];
}

Result<SealCode> read_code(std::string_view typed) {
  std::string text;
  for (const char character : typed)
    if (character != ' ' && character != '\t' && character != '\n' && character != '\r') text += character;
  if (in_case(text.substr(0, full_mark.size()), true) == full_mark) {
    const auto parts = split(text, '.');
    const auto sequence = parts.size() == 5 ? whole(parts[1]) : std::nullopt;
    if (!sequence || !hex_digits(parts[2], key_digits) || !hex_digits(parts[3], head_digits) ||
        !hex_digits(parts[4], signature_digits))
      return wrong(
          typed, "the whole code of a certificate: SWS1, entry, key, hash and signature with points between");
    return SealCode{*sequence, in_case(parts[3], false), in_case(parts[4], false), in_case(parts[2], false)};
  }
  const auto parts = split(text, '-');
  const auto sequence = parts.size() == 3 ? whole(parts[0]) : std::nullopt;
  if (!sequence || !hex_digits(parts[1], short_digits) || parts[2].size() != 2)
    return wrong(typed, "a code like 1234-00112233445566778899-AB, or the whole one that begins with SWS1");
  if (!check_characters_fit(in_case(parts[0] + parts[1] + parts[2], true)))
    return wrong(typed, "a code whose check characters fit: it was misread or mistyped");
  return SealCode{*sequence, in_case(parts[1], false), std::nullopt, std::nullopt};
}

}  // namespace shankwright::record
