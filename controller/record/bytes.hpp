#pragma once
#include <cstdint>
#include <string>
#include <string_view>

/// Little-endian numbers and length-prefixed texts: the building bricks of what is hashed and stored.
namespace shankwright::record {

template <typename T>
void put_number(std::string& out, T value) {
  char bytes[sizeof(T)];
  for (unsigned index = 0; index < sizeof(T); ++index)
    bytes[index] = static_cast<char>((value >> (8 * index)) & 0xff);
  out.append(bytes, sizeof bytes);
}
inline void put_u32(std::string& out, std::uint32_t value) {
  put_number(out, value);
}
inline void put_u64(std::string& out, std::uint64_t value) {
  put_number(out, value);
}
/// Length in bytes as u64, then the bytes: two lists of texts never give the same bytes.
inline void put_text(std::string& out, std::string_view text) {
  put_u64(out, text.size());
  out += text;
}

/// The caller has made sure that enough bytes are left.
template <typename T>
T take_number(std::string_view& in) {
  T value = 0;
  for (std::size_t index = 0; index < sizeof(T); ++index)
    value |= static_cast<T>(static_cast<T>(static_cast<unsigned char>(in[index])) << (8 * index));
  in.remove_prefix(sizeof(T));
  return value;
}
inline std::uint32_t take_u32(std::string_view& in) {
  return take_number<std::uint32_t>(in);
}
inline std::uint64_t take_u64(std::string_view& in) {
  return take_number<std::uint64_t>(in);
}

}  // namespace shankwright::record
