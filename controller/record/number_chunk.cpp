#include "record/number_chunk.hpp"

#include <bit>
#include <stdexcept>

namespace shankwright::record {
namespace {

constexpr std::size_t bitmap_size = chunk_numbers / 8;
constexpr std::size_t word_bits = 64;

std::uint64_t byte_at(std::string_view bytes, std::size_t index) {
  return static_cast<unsigned char>(bytes[index]);
}

}  // namespace

NumberChunk NumberChunk::from_bytes(std::string_view bytes) {
  NumberChunk out;
  if (bytes.size() == bitmap_size) {
    for (std::size_t index = 0; index < bitmap_size; ++index)
      out.words_[index / 8] |= byte_at(bytes, index) << (index % 8 * 8);
    return out;
  }
  bool fits = bytes.size() % 2 == 0 && bytes.size() < bitmap_size;
  for (std::size_t index = 0; fits && index < bytes.size(); index += 2) {
    const auto offset = byte_at(bytes, index) | byte_at(bytes, index + 1) << 8U;
    fits = offset < chunk_numbers && out.insert(offset);
  }
  if (!fits) throw std::runtime_error("damaged search tables; they can be written anew from the entries");
  return out;
}

NumberChunk NumberChunk::full() {
  NumberChunk out;
  out.words_.fill(~std::uint64_t{0});
  return out;
}

bool NumberChunk::insert(std::size_t offset) {
  auto& word = words_.at(offset / word_bits);
  const auto bit = std::uint64_t{1} << (offset % word_bits);
  const bool changes = (word & bit) == 0;
  word |= bit;
  return changes;
}

bool NumberChunk::erase(std::size_t offset) {
  auto& word = words_.at(offset / word_bits);
  const auto bit = std::uint64_t{1} << (offset % word_bits);
  const bool changes = (word & bit) != 0;
  word &= ~bit;
  return changes;
}

void NumberChunk::keep_common(const NumberChunk& other) {
  for (std::size_t index = 0; index < words_.size(); ++index) words_[index] &= other.words_[index];
}

std::size_t NumberChunk::size() const {
  std::size_t out = 0;
  for (const auto word : words_) out += static_cast<std::size_t>(std::popcount(word));
  return out;
}

std::optional<std::size_t> NumberChunk::next(std::size_t from) const {
  for (auto index = from / word_bits; index < words_.size(); ++index) {
    const auto first = index == from / word_bits ? from % word_bits : 0;
    const auto word = words_[index] >> first << first;
    if (word != 0) return index * word_bits + static_cast<std::size_t>(std::countr_zero(word));
  }
  return std::nullopt;
}

std::string NumberChunk::bytes() const {
  std::string out;
  if (size() * 2 < bitmap_size) {
    for (auto offset = next(0); offset; offset = next(*offset + 1)) {
      out += static_cast<char>(*offset & 0xffU);
      out += static_cast<char>(*offset >> 8U);
    }
    return out;
  }
  out.reserve(bitmap_size);
  for (const auto word : words_)
    for (std::size_t shift = 0; shift < word_bits; shift += 8)
      out += static_cast<char>(word >> shift & 0xffU);
  return out;
}

}  // namespace shankwright::record
