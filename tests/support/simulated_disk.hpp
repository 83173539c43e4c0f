#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <random>
#include <string>
#include <vector>

struct sqlite3_vfs;

/// A disk in memory beneath SQLite (a VFS) that forgets, fills up and fails.
///
/// FAULT MODEL. What a file shows to a running program and what is on the disk are two things.
///
///  * A write or a change of size is on the disk for certain only after an xSync of that file that began
///    after it and returned well.
///  * When the power goes, what was written since may be kept or lost in any mixture: every write is cut into
///    sectors of 512 bytes, each of them is kept or lost by itself, in any order, and some are kept only up
///    to a byte inside. Bytes beside a write are never touched (SQLite's "power-safe overwrite", which its
///    own VFS claims too). Where a file became longer and the bytes were lost, it reads as zeros. A cutting
///    to length is kept or lost by itself.
///  * A new name and a deletion are on the disk for certain only after the folder was synchronised. As in
///    SQLite's own VFS for Unix that happens with the first xSync of a journal after it was opened, and with
///    a deletion that asks for it. Until then each name may stand as it did after any of its changes.
///  * The operation at which the power goes may have been done, half done or not at all.
///  * A full disk refuses a write after any part of it has been written. It refuses rewriting too, as file
///    systems do that never write in place.
///  * A write that fails has written any part. After an xSync that fails, some of what was written before is
///    on the disk and the rest never comes there, although programs go on reading it (Linux marks such pages
///    as clean); only writing it again helps.
///
/// Not in it: bits that change by themselves (tests of evidence flip them), sectors that become unreadable,
/// a disk that swaps sectors between files, a disk that lies about a sync (Lie below does, to show that the
/// tests notice), and the folder and empty record file themselves, which the station makes and synchronises
/// without SQLite: the first opening of a main file makes it for certain.
///
/// Same seed and same calls give the same disk. Calls may come from several threads.
namespace shankwright::support {

class SimulatedDisk {
 public:
  /// Takes over every file below `folder`, for every SQLite connection of this process that names no VFS;
  /// other files go where they went before. One at a time.
  explicit SimulatedDisk(std::filesystem::path folder, std::uint64_t seed = 1);
  /// Connections must be closed.
  ~SimulatedDisk();
  SimulatedDisk(const SimulatedDisk&) = delete;
  SimulatedDisk& operator=(const SimulatedDisk&) = delete;

  /// Bugs to plant: syncs that do nothing and say they did.
  enum class Lie : std::uint8_t { none, every_sync, journal_syncs, folder_syncs };
  void tell(Lie lie);

  /// Operations so far that change the disk: writes, cuttings to length, syncs (of a file, of the folder),
  /// new names, deletions.
  [[nodiscard]] std::uint64_t operations() const;

  /// The power goes at the operation with this number; from then on every call fails.
  void cut_power_at(std::uint64_t operation);
  [[nodiscard]] bool has_power() const;
  /// Forgets what a power loss may forget, drawn from the seed, and gives the power back. Connections must be
  /// closed.
  void lose_power();

  /// The process dies: every call fails from now on, and the disk keeps what programs saw (nothing is
  /// forgotten). start_process() is the next one; connections must be closed by then.
  void kill_process();
  void start_process();

  enum class Refusal : std::uint8_t { full, failing_write, failing_sync };
  /// Refuses the `first`th operation from now of the refused sort (1 is the next) and those after it, until
  /// allowed again; with `once` only that one.
  void refuse(Refusal refusal, std::uint64_t first, bool once = false);
  void allow();
  [[nodiscard]] std::uint64_t refused() const;  ///< operations refused since refuse()

  /// A file as programs see it; nothing when there is none.
  [[nodiscard]] std::optional<std::string> content(const std::filesystem::path& file) const;
  /// Puts a file there, on the disk for certain.
  void put(const std::filesystem::path& file, std::string bytes);
  void remove(const std::filesystem::path& file);

 private:
  friend struct DiskCalls;
  struct Change {
    std::uint64_t offset = 0;
    std::string bytes;
    bool is_cut = false;  // to `offset` bytes
  };
  struct Locks;
  struct Inode {
    std::string seen, kept;
    std::vector<Change> changes;  // seen, and not kept for certain
    std::shared_ptr<Locks> locks;
  };
  using Names = std::map<std::string, std::shared_ptr<Inode>>;
  struct NameChange {
    std::string name;
    std::shared_ptr<Inode> inode;  // null for a deletion
  };
  enum class Step : std::uint8_t { go, refused_full, refused_io, power_goes, dark };

  Step step(bool is_write, bool is_sync);
  bool owns(const char* path) const;
  void rename_in_sight(const std::string& name, const std::shared_ptr<Inode>& inode);
  void synchronise_folder();
  void synchronise(Inode& inode);
  void half_synchronise(Inode& inode);
  void survive(Inode& inode);
  static void apply(std::string& content, const Change& change);
  bool chance(unsigned one_in) { return random_() % one_in == 0; }

  std::string folder_;
  std::mt19937_64 random_;
  mutable std::recursive_mutex mutex_;
  Names seen_, kept_;
  std::vector<NameChange> name_changes_;
  std::uint64_t operations_ = 0, cut_at_ = 0;
  bool power_ = true;
  Lie lie_ = Lie::none;
  struct Refusing {
    Refusal refusal{};
    std::uint64_t left = 0;  // operations of the sort until the first refused one
    bool once = false;
  };
  std::optional<Refusing> refusing_;
  std::uint64_t refused_ = 0;
  sqlite3_vfs* beneath_ = nullptr;
  std::unique_ptr<sqlite3_vfs> vfs_;
};

}  // namespace shankwright::support
