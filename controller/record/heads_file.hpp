#pragma once
#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "quantity/result.hpp"
#include "record/part_files.hpp"

/// Sealed heads in a second place, a file on another disk: one line for every seal,
///   <whole code (seal_code.hpp)> <public key, 64 digits> <instant, UTC> <why>
/// Who has it can show that the record's end was cut off, or that an older copy was put in its place.
namespace shankwright::record {

class HeadsFile {
 public:
  HeadsFile() = default;  ///< none is kept
  /// Takes away a last line that was torn by a loss of power. `exported` is what the last line says.
  [[nodiscard]] static Result<HeadsFile> open(const std::filesystem::path& file);

  [[nodiscard]] bool kept() const { return !file_.empty(); }
  [[nodiscard]] std::int64_t newest_sequence() const { return newest_; }
  /// Adds every seal of the record, its closed periods among them, that is not there yet, synchronised. A
  /// disk that is away for a while is caught up with at the next seal. Problem when it could not be written.
  /// Throws what PartFiles throws where a closed period with such a seal is not there.
  [[nodiscard]] std::optional<Problem> catch_up(SQLite::Database& live, PartFiles& parts);

 private:
  std::filesystem::path file_;
  std::int64_t newest_ = 0;  ///< entry covered by the newest seal there
};

/// One line of the file as it was kept.
struct KeptHead {
  std::size_t line = 0;  ///< 1 and up
  std::string code, public_key_hex;
};
[[nodiscard]] Result<std::vector<KeptHead>> read_heads_file(const std::filesystem::path& file);

}  // namespace shankwright::record
