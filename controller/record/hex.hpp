#pragma once
#include <sodium.h>

#include <array>
#include <optional>
#include <string>
#include <string_view>

/// Bytes as hexadecimal digits, small letters out, either case in.
namespace shankwright::record {

template <std::size_t size>
[[nodiscard]] std::string digits_of(const std::array<unsigned char, size>& bytes) {
  std::string out(size * 2 + 1, '\0');
  sodium_bin2hex(out.data(), out.size(), bytes.data(), size);
  out.pop_back();  // its terminating zero
  return out;
}

/// Nothing unless it is exactly twice as many digits as bytes.
template <std::size_t size>
[[nodiscard]] std::optional<std::array<unsigned char, size>> bytes_of_digits(std::string_view digits) {
  std::array<unsigned char, size> out{};
  std::size_t read = 0;
  if (digits.size() != 2 * size ||
      sodium_hex2bin(out.data(), size, digits.data(), digits.size(), nullptr, &read, nullptr) != 0 ||
      read != size)
    return std::nullopt;
  return out;
}

}  // namespace shankwright::record
