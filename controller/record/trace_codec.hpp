#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// One bite's samples as bytes in the record.
///
///   byte 0        format: 1 register counts, 2 doubles
///   bytes 1-4     number of samples, little-endian
///   rest          the samples, one after the other: time, pressure, gap
///
/// Format 1 keeps whole counts of 1 ms, 0.1 bar and 0.001 mm, the resolution of the press's registers: the
/// difference to the same value of the sample before (of the first to 0), zigzag-folded, as a base-128 varint
/// of 7 bits a byte, low bits first. That is about three bytes a sample; packing them further (deflate) was
/// tried and saves less than the texts around them take. A press profile with finer or wider scaling does not
/// fit those counts; then format 2 keeps the times as 32-bit and pressure and gap as 64-bit IEEE 754 values,
/// little-endian, so that no evidence is ever rounded off. Damage is found by the hash of the bytes
/// (chain.hpp), not here.
namespace shankwright::record {

[[nodiscard]] std::string encode_trace(const std::vector<ports::Sample>& samples);

/// Problem when the bytes do not fit their own count or are of a format this version does not know.
[[nodiscard]] Result<std::vector<ports::Sample>> decode_trace(std::string_view bytes);

/// Number of samples the bytes claim to hold, without unpacking them; 0 for bytes too short to say.
[[nodiscard]] std::uint32_t sample_count(std::string_view bytes);

}  // namespace shankwright::record
