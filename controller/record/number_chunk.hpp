#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// 8192 running numbers in a row, each in the set or not. Sets of fittings are kept in such pieces
/// (number_sets.hpp): what two sets have in common costs 128 machine words a piece, however many fittings
/// fit.
namespace shankwright::record {

inline constexpr std::int64_t chunk_numbers = 8192;

class NumberChunk {
 public:
  /// Throws std::runtime_error for bytes that bytes() never gives.
  [[nodiscard]] static NumberChunk from_bytes(std::string_view bytes);
  [[nodiscard]] static NumberChunk full();

  /// `offset` is below chunk_numbers. False when nothing changed.
  bool insert(std::size_t offset);
  bool erase(std::size_t offset);
  void keep_common(const NumberChunk& other);

  [[nodiscard]] std::size_t size() const;
  [[nodiscard]] std::optional<std::size_t> next(std::size_t from) const;  ///< the first at `from` or after
  /// One form for each set: ascending 16-bit offsets, little-endian, for fewer than 512; else one bit for
  /// each number, low bits first (1024 bytes).
  [[nodiscard]] std::string bytes() const;

 private:
  std::array<std::uint64_t, chunk_numbers / 64> words_{};
};

}  // namespace shankwright::record
