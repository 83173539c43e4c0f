#pragma once
#include <sys/types.h>

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "quantity/result.hpp"

/// Small files that are there whole or not at all, also after a loss of power.
namespace shankwright::record {

/// Writes under another name, synchronises, renames, synchronises the folder. `mode` as for open(2).
[[nodiscard]] std::optional<Problem> write_whole_file(const std::filesystem::path& file,
                                                      std::string_view text, ::mode_t mode);

/// At most `most_bytes`; a longer file is a Problem.
[[nodiscard]] Result<std::string> read_small_file(const std::filesystem::path& file, std::size_t most_bytes);

/// A new or removed name in a folder is on the disk only after this. 0, or errno.
[[nodiscard]] int synchronise_folder(const std::filesystem::path& folder);

}  // namespace shankwright::record
