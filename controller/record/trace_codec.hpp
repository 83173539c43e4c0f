#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"

/// One bite's samples as bytes in the record.
///
///   byte 0        format: 1 register counts in rows, 2 doubles, 3 register counts in packed columns
///   bytes 1-4     number of samples, little-endian
///   rest          the samples
///
/// Formats 1 and 3 keep whole counts of 1 ms, 0.1 bar and 0.001 mm, the resolution of the press's registers.
/// Numbers are zigzag-folded and written as base-128 varints of 7 bits a byte, low bits first.
///   1  sample by sample: time, pressure, gap, each as the difference to the sample before (the first to 0)
///   3  one Zstandard frame (RFC 8878) that names its content's size and holds all times, then all pressures,
///      then all gaps, each as the change of that difference (second difference; before the first sample both
///      are 0); at most 65536 samples
/// A trace is written in the smaller of the two. A press profile with finer or wider scaling does not fit
/// those counts; then format 2 keeps, sample after sample, the times as 32-bit and pressure and gap as 64-bit
/// IEEE 754 values, little-endian, so that no evidence is ever rounded off. Damage is found by the hash of
/// the bytes (chain.hpp), not here.
namespace shankwright::record {

[[nodiscard]] std::string encode_trace(const std::vector<ports::Sample>& samples);

/// Problem when the bytes do not fit their own count or are of a format this version does not know. Whatever
/// the bytes claim, no more memory is asked for than 24 bytes for each byte given, or for 65536 samples.
[[nodiscard]] Result<std::vector<ports::Sample>> decode_trace(std::string_view bytes);

/// Number of samples the bytes claim to hold, without unpacking them; 0 for bytes too short to say.
[[nodiscard]] std::uint32_t sample_count(std::string_view bytes);

}  // namespace shankwright::record
