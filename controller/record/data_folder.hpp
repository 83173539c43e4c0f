#pragma once
#include <filesystem>
#include <memory>

#include "quantity/result.hpp"

/// The folder that holds one press's record.
namespace shankwright::record {

/// The record's file inside the data folder.
[[nodiscard]] std::filesystem::path record_file(const std::filesystem::path& folder);

/// Makes the folder when it is not there, for its owner only (0700), and sees to it that it survives a power
/// loss. A folder that is there keeps its permissions. Returns its absolute path.
[[nodiscard]] Result<std::filesystem::path> make_data_folder(const std::filesystem::path& folder);

/// The right to write the record of one folder, held by one process at a time through an advisory lock
/// (flock) that the kernel lets go of when the process ends in any way. Works on a local disk; a network file
/// system may not tell other machines.
class WriterLock {
 public:
  /// Problem, with the other process's id, when somebody holds it.
  [[nodiscard]] static Result<std::shared_ptr<WriterLock>> take(const std::filesystem::path& folder);
  ~WriterLock();
  WriterLock(const WriterLock&) = delete;
  WriterLock& operator=(const WriterLock&) = delete;

 private:
  explicit WriterLock(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

}  // namespace shankwright::record
