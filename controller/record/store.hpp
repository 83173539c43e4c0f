#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "ports/ports.hpp"
#include "record/integrity.hpp"
#include "record/seal.hpp"

/// The record in one SQLite file, for one press. README.md in this folder says what the file promises.
namespace shankwright::record {

struct StoreOptions {
  std::int64_t tail_entries = 1000;  ///< newest entries whose hashes are computed anew at opening
  /// SQLite's quick check at opening, of a file of up to so many bytes: it reads all of it, and nobody waits
  /// minutes for a press. A larger one is looked at by verify alone. 0 for never.
  std::uintmax_t check_file_up_to_bytes = std::uintmax_t{512} << 20;
  std::uint32_t most_pages = 0;      ///< bound of the file in pages of 4096 bytes, as a quota; 0 for none
  /// Every seal is written here too, on another disk; empty for nowhere. A file that knows a later seal than
  /// the record refuses to open: the record is older than it was.
  std::filesystem::path heads_file{};
  /// For test data only: nothing is durable before finish_filling(), and a record whose filling failed or was
  /// cut short is to be thrown away.
  bool fill_without_safety = false;
};

/// Whether a Problem of fitting() or entries() says that no such fitting exists, and not that the record
/// failed.
[[nodiscard]] bool is_unknown_serial(const Problem& problem);

/// All calls may come from any thread. Writers wait for each other; readers use a connection of their own and
/// neither wait for a write nor hold one up. After a disk error whose outcome nobody can know (never after a
/// full disk) every write is refused until the record is opened anew.
class SqliteStore final : public ports::RecordStore {
 public:
  /// Makes the folder and the record where there is none. Problem when another process writes to it, when the
  /// file is damaged, newer than this program or another program's, or when the chain's tail is broken.
  [[nodiscard]] static Result<std::shared_ptr<SqliteStore>> open(const std::filesystem::path& folder,
                                                                 const StoreOptions& options = {});
  /// For reviewers, also while a station writes. Writes are refused. No checks: ask check_chain().
  /// A file in place of a folder is read as it is, a closed period for example.
  [[nodiscard]] static Result<std::shared_ptr<SqliteStore>> open_to_read(
      const std::filesystem::path& folder_or_file);
  ~SqliteStore() override;

  /// Makes the signing key at the first seal (key_folder.hpp). Problem, and nothing appended, when the key
  /// that the record names is not there. The seal's time is that of the last of the entries, or of the newest
  /// entry.
  [[nodiscard]] Result<std::int64_t> append_and_seal(const std::vector<ports::NewEntry>& entries,
                                                     const std::string& why) override;
  /// Why the second place did not take the newest seals; nothing when it did, or when there is none.
  [[nodiscard]] std::optional<Problem> heads_trouble() const;
  /// Seals with a new key from now on; the old secret is taken away. `old_key_lost`: nobody can sign for the
  /// new key then, and every verification says so.
  [[nodiscard]] Result<PublicKey> rotate_key(const std::string& actor, const std::string& reason,
                                             std::int64_t at_utc_us, bool old_key_lost);

  /// Refuses an entry about a serial that was never reserved; one about a serial without a fitting is kept,
  /// and the index is not touched.
  [[nodiscard]] Result<std::int64_t> append(const std::vector<ports::NewEntry>& entries) override;
  [[nodiscard]] Result<std::string> reserve_serial(std::int64_t at_utc_us) override;
  /// The serial must have been reserved and not been opened yet. Stage and state come from the entry, or from
  /// the row where the entry leaves them empty; the verdict follows from them.
  [[nodiscard]] Result<std::int64_t> open_fitting(const ports::FittingRow& row,
                                                  const ports::NewEntry& admit) override;
  [[nodiscard]] Result<std::vector<ports::FittingRow>> open_fittings() const override;
  /// In the order in which serials were given. Problem for an after_serial that is not a serial.
  [[nodiscard]] Result<std::vector<ports::FittingRow>> find(
      const ports::FittingFilter& filter) const override;
  /// Every fitting that fits, in find()'s order, without state and recipe, on a connection of its own and in
  /// constant memory: `visit` returns false to stop. The filter's limit and after_serial are not looked at;
  /// what is recorded meanwhile may be among them. Returns how many were visited.
  [[nodiscard]] Result<std::int64_t> each_fitting(
      const ports::FittingFilter& filter, const std::function<bool(const ports::FittingRow&)>& visit) const;
  [[nodiscard]] Result<ports::FittingRow> fitting(const std::string& serial) const override;
  /// Oldest first; an empty serial gives the station's own entries. Traces are compared with their
  /// hashes: an altered or missing one is a Problem with its entry.
  [[nodiscard]] Result<std::vector<ports::StoredEntry>> entries(const std::string& serial,
                                                                bool with_traces) const override;

  [[nodiscard]] Result<ports::Seal> seal_over(const std::string& serial) const override;
  [[nodiscard]] Result<std::vector<ports::StoredEntry>> entries_of_kind(
      const std::string& kind, std::int64_t after_sequence) const override;
  [[nodiscard]] Result<std::uint64_t> strokes_of(const std::string& die_pair_id) const override;
  [[nodiscard]] Result<std::uint64_t> free_bytes() const override;

  /// Those of fittings that may have been meant, without going through all: every one that differs by at most
  /// two characters, the first hundred that begin with what was typed, and few others
  /// (review::nearest_serials).
  [[nodiscard]] Result<std::vector<std::string>> serials_near(const std::string& typed) const;
  [[nodiscard]] Result<std::vector<std::string>> serials() const;  ///< of every fitting, in the order given
  /// Ends `fill_without_safety`: from here on the record is as safe as any.
  [[nodiscard]] std::optional<Problem> finish_filling();
  [[nodiscard]] Result<ChainReport> check_chain(std::int64_t first = 1) const;
  /// Writes the index anew from the entries of all files; returns how many were read.
  [[nodiscard]] Result<std::int64_t> rebuild_index();

 private:
  struct Parts;
  explicit SqliteStore(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> parts_;
};

}  // namespace shankwright::record
