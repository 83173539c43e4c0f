#include "quantity/as_written.hpp"

#include <cstdint>

namespace shankwright::quantity {
namespace {

std::uint8_t byte_at(std::string_view text, std::size_t at) {
  return static_cast<std::uint8_t>(text[at]);
}

/// Bytes of the well-formed sequence that begins at `at`, or 0.
std::size_t sequence_length(std::string_view text, std::size_t at) {
  const std::uint8_t lead = byte_at(text, at);
  if (lead < 0x80) return 1;
  std::size_t length = 0;
  std::uint8_t least = 0x80;
  std::uint8_t most = 0xBF;
  if (lead >= 0xC2 && lead <= 0xDF) {
    length = 2;
  } else if (lead >= 0xE0 && lead <= 0xEF) {
    length = 3;
    if (lead == 0xE0) least = 0xA0;
    if (lead == 0xED) most = 0x9F;
  } else if (lead >= 0xF0 && lead <= 0xF4) {
    length = 4;
    if (lead == 0xF0) least = 0x90;
    if (lead == 0xF4) most = 0x8F;
  } else {
    return 0;
  }
  if (text.size() - at < length) return 0;
  if (byte_at(text, at + 1) < least || byte_at(text, at + 1) > most) return 0;
  for (std::size_t i = 2; i < length; ++i) {
    if (byte_at(text, at + i) < 0x80 || byte_at(text, at + i) > 0xBF) return 0;
  }
  return length;
}

}  // namespace

std::optional<std::size_t> first_invalid_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = sequence_length(text, at);
    if (length == 0) return at;
    at += length;
  }
  return std::nullopt;
}

std::string as_written(std::string_view text) {
  constexpr std::size_t shown_bytes = 80;
  if (text.empty()) return "nothing";
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    if (out.size() >= shown_bytes) return out + "...";
    const std::size_t length = sequence_length(text, at);
    // C1 controls (U+0080 to U+009F) are encoded C2 80 to C2 9F; some terminals act on them.
    const bool control = (length == 1 && (byte_at(text, at) < 0x20 || byte_at(text, at) == 0x7F)) ||
                         (length == 2 && byte_at(text, at) == 0xC2 && byte_at(text, at + 1) < 0xA0);
    if (length == 0 || control) {
      out += '?';
    } else {
      out += text.substr(at, length);
    }
    at += length == 0 ? 1 : length;
  }
  return out;
}

std::string as_markup(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;  // XML takes no control characters
    }
  }
  return out;
}

}  // namespace shankwright::quantity
