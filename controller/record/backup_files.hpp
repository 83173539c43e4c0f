#pragma once
#include <filesystem>
#include <optional>

#include "quantity/result.hpp"

/// Files as backup and restore handle them: whole, on the disk for certain, and never in another's place.
namespace shankwright::record {

/// Copies a file that nobody writes to, for its owner only (0600), and synchronises it. Problem when `to` is
/// there. A copy that failed is taken away.
[[nodiscard]] std::optional<Problem> copy_file_whole(const std::filesystem::path& from,
                                                     const std::filesystem::path& to);

/// Copies every closed period (`archive` beside the record's file) that is not beside the other file yet.
/// Problem when another file of the same name is. Returns how many lie there then.
[[nodiscard]] Result<std::size_t> copy_closed_files(const std::filesystem::path& record_file,
                                                    const std::filesystem::path& other_file);

/// Gives a file or folder its name and synchronises the folder around it. Problem when the name is taken.
[[nodiscard]] std::optional<Problem> name_for_good(const std::filesystem::path& from,
                                                   const std::filesystem::path& to);

/// A full disk in words, and anything else as the system puts it.
[[nodiscard]] Problem file_problem(const std::filesystem::path& place, int error);

}  // namespace shankwright::record
