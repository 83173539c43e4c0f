#include "support/simulated_disk.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstring>
#include <set>
#include <stdexcept>
#include <utility>

namespace shankwright::support {
namespace {

constexpr std::uint64_t sector = 512;
constexpr std::size_t shared_region = 32768;

}  // namespace

// What connections agree on among themselves: SQLite's file locks and the shared memory beside the journal.
struct SimulatedDisk::Locks {
  std::set<const void*> shared;
  const void* reserved = nullptr;
  const void* pending = nullptr;
  const void* exclusive = nullptr;

  std::vector<std::unique_ptr<std::array<char, shared_region>>> regions;
  std::set<const void*> mapped;
  std::array<std::set<const void*>, SQLITE_SHM_NLOCK> shm_shared;
  std::array<const void*, SQLITE_SHM_NLOCK> shm_exclusive{};
};

struct DiskCalls {
  struct Open {
    SimulatedDisk* disk = nullptr;
    std::shared_ptr<SimulatedDisk::Inode> inode;
    std::string name;
    bool is_lasting = false;  // has a name that outlives it
    bool is_journal = false;
    bool synchronise_folder = false;  // with the first sync
    int level = SQLITE_LOCK_NONE;
  };
  struct File {
    sqlite3_file base;
    Open* open;
  };
  using Guard = std::lock_guard<std::recursive_mutex>;
  using Step = SimulatedDisk::Step;

  static SimulatedDisk& disk_of(sqlite3_vfs* vfs) { return *static_cast<SimulatedDisk*>(vfs->pAppData); }
  static Open& open_of(sqlite3_file* file) { return *reinterpret_cast<File*>(file)->open; }
  static const sqlite3_io_methods& methods();

  // --- files ---
  static int close(sqlite3_file* file) {
    auto& handle = reinterpret_cast<File*>(file)->open;
    unmap(file, 0);
    unlock(file, SQLITE_LOCK_NONE);
    delete handle;
    handle = nullptr;
    return SQLITE_OK;
  }

  static int read(sqlite3_file* file, void* into, int amount, sqlite3_int64 offset) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    if (!open.disk->power_) return SQLITE_IOERR_READ;
    const auto& seen = open.inode->seen;
    const auto from = std::min(static_cast<std::size_t>(offset), seen.size());
    const auto wanted = static_cast<std::size_t>(amount);
    const auto there = std::min(wanted, seen.size() - from);
    std::memcpy(into, seen.data() + from, there);
    std::memset(static_cast<char*>(into) + there, 0, wanted - there);
    return there == wanted ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
  }

  static void change(Open& open, SimulatedDisk::Change change) {
    SimulatedDisk::apply(open.inode->seen, change);
    if (open.is_lasting) open.inode->changes.push_back(std::move(change));
  }

  static int write(sqlite3_file* file, const void* from, int amount, sqlite3_int64 offset) {
    auto& open = open_of(file);
    auto& disk = *open.disk;
    const Guard guard(disk.mutex_);
    std::string bytes(static_cast<const char*>(from), static_cast<std::size_t>(amount));
    const auto step = open.is_lasting ? disk.step(true, false) : disk.power_ ? Step::go : Step::dark;
    if (step == Step::dark) return SQLITE_IOERR_WRITE;
    const bool whole = step == Step::go || step == Step::power_goes;
    if (!whole) bytes.resize(disk.random_() % (bytes.size() + 1));
    if (!bytes.empty()) change(open, {static_cast<std::uint64_t>(offset), std::move(bytes), false});
    if (step == Step::refused_full) return SQLITE_FULL;
    return step == Step::go ? SQLITE_OK : SQLITE_IOERR_WRITE;
  }

  static int truncate(sqlite3_file* file, sqlite3_int64 size) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    const auto step = open.is_lasting ? open.disk->step(false, false) : Step::go;
    if (step == Step::dark) return SQLITE_IOERR_TRUNCATE;
    change(open, {static_cast<std::uint64_t>(size), {}, true});
    return step == Step::go ? SQLITE_OK : SQLITE_IOERR_TRUNCATE;
  }

  static int sync(sqlite3_file* file, int) {
    auto& open = open_of(file);
    auto& disk = *open.disk;
    const Guard guard(disk.mutex_);
    if (!open.is_lasting) return SQLITE_OK;
    const auto step = disk.step(false, true);
    if (step == Step::refused_io) disk.half_synchronise(*open.inode);
    if (step != Step::go) return SQLITE_IOERR_FSYNC;
    using Lie = SimulatedDisk::Lie;
    if (disk.lie_ == Lie::every_sync) return SQLITE_OK;
    if (!(disk.lie_ == Lie::journal_syncs && open.is_journal)) disk.synchronise(*open.inode);
    if (!open.synchronise_folder) return SQLITE_OK;
    if (const auto folder_step = disk.step(false, true); folder_step != Step::go)
      return SQLITE_IOERR_DIR_FSYNC;
    open.synchronise_folder = false;
    if (disk.lie_ != Lie::folder_syncs) disk.synchronise_folder();
    return SQLITE_OK;
  }

  static int size(sqlite3_file* file, sqlite3_int64* out) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    if (!open.disk->power_) return SQLITE_IOERR_FSTAT;
    *out = static_cast<sqlite3_int64>(open.inode->seen.size());
    return SQLITE_OK;
  }

  // --- locks of the main file, as SQLite describes them in "File Locking And Concurrency" ---
  static int lock(sqlite3_file* file, int level) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    auto& locks = *open.inode->locks;
    const void* const me = file;
    if (level <= open.level) return SQLITE_OK;
    const auto another = [&](const void* holder) { return holder != nullptr && holder != me; };
    if (another(locks.exclusive)) return SQLITE_BUSY;
    if (level == SQLITE_LOCK_SHARED) {
      if (another(locks.pending)) return SQLITE_BUSY;
      locks.shared.insert(me);
    } else if (level == SQLITE_LOCK_RESERVED) {
      if (another(locks.reserved) || another(locks.pending)) return SQLITE_BUSY;
      locks.reserved = me;
    } else {
      if (another(locks.pending) || another(locks.reserved)) return SQLITE_BUSY;
      locks.pending = me;
      if (open.level < SQLITE_LOCK_PENDING) open.level = SQLITE_LOCK_PENDING;
      if (level == SQLITE_LOCK_EXCLUSIVE) {
        if (locks.shared.size() - locks.shared.count(me) > 0) return SQLITE_BUSY;
        locks.exclusive = me;
      }
    }
    open.level = level;
    return SQLITE_OK;
  }

  static int unlock(sqlite3_file* file, int level) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    auto& locks = *open.inode->locks;
    const void* const me = file;
    for (auto* const holder : {&locks.exclusive, &locks.pending, &locks.reserved})
      if (*holder == me) *holder = nullptr;
    if (level == SQLITE_LOCK_NONE) locks.shared.erase(me);
    open.level = level;
    return SQLITE_OK;
  }

  static int check_reserved(sqlite3_file* file, int* out) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    *out = open.inode->locks->reserved != nullptr;
    return SQLITE_OK;
  }

  static int control(sqlite3_file*, int, void*) { return SQLITE_NOTFOUND; }
  static int sector_size(sqlite3_file*) { return 4096; }  // what SQLite's own VFS says on Linux
  static int traits(sqlite3_file*) { return SQLITE_IOCAP_POWERSAFE_OVERWRITE; }

  // --- shared memory beside the journal ---
  static int map(sqlite3_file* file, int region, int region_size, int extend, void volatile** out) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    auto& locks = *open.inode->locks;
    *out = nullptr;
    if (!open.disk->power_ || region_size != static_cast<int>(shared_region)) return SQLITE_IOERR_SHMMAP;
    locks.mapped.insert(file);
    const auto wanted = static_cast<std::size_t>(region) + 1;
    if (locks.regions.size() < wanted && !extend) return SQLITE_OK;
    while (locks.regions.size() < wanted)
      locks.regions.push_back(std::make_unique<std::array<char, shared_region>>());
    *out = locks.regions[static_cast<std::size_t>(region)]->data();
    return SQLITE_OK;
  }

  static int shm_lock(sqlite3_file* file, int first, int count, int flags) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    auto& locks = *open.inode->locks;
    const void* const me = file;
    const auto from = static_cast<std::size_t>(first), until = from + static_cast<std::size_t>(count);
    if (flags & SQLITE_SHM_UNLOCK) {
      for (auto slot = from; slot < until; ++slot) {
        if (flags & SQLITE_SHM_SHARED) locks.shm_shared[slot].erase(me);
        if (locks.shm_exclusive[slot] == me) locks.shm_exclusive[slot] = nullptr;
      }
      return SQLITE_OK;
    }
    for (auto slot = from; slot < until; ++slot) {
      const auto* const holder = locks.shm_exclusive[slot];
      if (holder != nullptr && holder != me) return SQLITE_BUSY;
      if ((flags & SQLITE_SHM_EXCLUSIVE) && locks.shm_shared[slot].size() > locks.shm_shared[slot].count(me))
        return SQLITE_BUSY;
    }
    for (auto slot = from; slot < until; ++slot) {
      if (flags & SQLITE_SHM_EXCLUSIVE)
        locks.shm_exclusive[slot] = me;
      else
        locks.shm_shared[slot].insert(me);
    }
    return SQLITE_OK;
  }

  static void barrier(sqlite3_file* file) {
    const Guard guard(open_of(file).disk->mutex_);
    std::atomic_thread_fence(std::memory_order_seq_cst);
  }

  static int unmap(sqlite3_file* file, int) {
    auto& open = open_of(file);
    const Guard guard(open.disk->mutex_);
    auto& locks = *open.inode->locks;
    for (auto& slot : locks.shm_shared) slot.erase(file);
    for (auto& slot : locks.shm_exclusive)
      if (slot == file) slot = nullptr;
    locks.mapped.erase(file);
    // The next to come finds no other and begins anew, as with SQLite's own VFS.
    if (locks.mapped.empty()) locks.regions.clear();
    return SQLITE_OK;
  }

  // --- names ---
  static int open(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* out_flags) {
    auto& disk = disk_of(vfs);
    if (name != nullptr && !disk.owns(name))
      return disk.beneath_->xOpen(disk.beneath_, name, file, flags, out_flags);
    const Guard guard(disk.mutex_);
    file->pMethods = nullptr;
    if (!disk.power_) return SQLITE_CANTOPEN;
    auto handle = std::make_unique<Open>();
    handle->disk = &disk;
    handle->is_journal = (flags & (SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0;
    handle->is_lasting = name != nullptr && (flags & SQLITE_OPEN_DELETEONCLOSE) == 0;
    if (name != nullptr) handle->name = name;
    if (!handle->is_lasting) {
      handle->inode = new_inode();
    } else if (const auto found = disk.seen_.find(name); found != disk.seen_.end()) {
      handle->inode = found->second;
    } else if (flags & SQLITE_OPEN_MAIN_DB) {
      if (!(flags & SQLITE_OPEN_CREATE)) return SQLITE_CANTOPEN;
      handle->inode = disk.seen_[name] = disk.kept_[name] = new_inode();
    } else {
      if (!(flags & SQLITE_OPEN_CREATE)) return SQLITE_CANTOPEN;
      const auto step = disk.step(false, false);
      if (step == Step::dark) return SQLITE_CANTOPEN;
      handle->inode = new_inode();
      disk.rename_in_sight(name, handle->inode);
      if (step != Step::go) return SQLITE_CANTOPEN;
    }
    handle->synchronise_folder = handle->is_journal && (flags & SQLITE_OPEN_CREATE) != 0;
    if (out_flags != nullptr) *out_flags = flags;
    reinterpret_cast<File*>(file)->open = handle.release();
    file->pMethods = &methods();
    return SQLITE_OK;
  }

  static std::shared_ptr<SimulatedDisk::Inode> new_inode() {
    auto inode = std::make_shared<SimulatedDisk::Inode>();
    inode->locks = std::make_shared<SimulatedDisk::Locks>();
    return inode;
  }

  static int remove(sqlite3_vfs* vfs, const char* name, int synchronise_folder) {
    auto& disk = disk_of(vfs);
    if (!disk.owns(name)) return disk.beneath_->xDelete(disk.beneath_, name, synchronise_folder);
    const Guard guard(disk.mutex_);
    if (disk.seen_.count(name) == 0) return SQLITE_IOERR_DELETE_NOENT;
    const auto step = disk.step(false, false);
    if (step == Step::dark) return SQLITE_IOERR_DELETE;
    disk.rename_in_sight(name, nullptr);
    if (step != Step::go) return SQLITE_IOERR_DELETE;
    if (!synchronise_folder) return SQLITE_OK;
    if (disk.step(false, true) != Step::go) return SQLITE_IOERR_DIR_FSYNC;
    if (disk.lie_ != SimulatedDisk::Lie::folder_syncs && disk.lie_ != SimulatedDisk::Lie::every_sync)
      disk.synchronise_folder();
    return SQLITE_OK;
  }

  static int access(sqlite3_vfs* vfs, const char* name, int flags, int* out) {
    auto& disk = disk_of(vfs);
    if (!disk.owns(name)) return disk.beneath_->xAccess(disk.beneath_, name, flags, out);
    const Guard guard(disk.mutex_);
    if (!disk.power_) return SQLITE_IOERR_ACCESS;
    const auto found = disk.seen_.find(name);
    // An empty journal counts as none, as with SQLite's own VFS.
    *out = found != disk.seen_.end() && (flags != SQLITE_ACCESS_EXISTS || !found->second->seen.empty());
    return SQLITE_OK;
  }

  static int full_path(sqlite3_vfs* vfs, const char* name, int most, char* out) {
    auto& disk = disk_of(vfs);
    if (!disk.owns(name)) return disk.beneath_->xFullPathname(disk.beneath_, name, most, out);
    const auto size = std::strlen(name);
    if (size + 1 > static_cast<std::size_t>(most)) return SQLITE_CANTOPEN;
    std::memcpy(out, name, size + 1);
    return SQLITE_OK;
  }
};

const sqlite3_io_methods& DiskCalls::methods() {
  static const sqlite3_io_methods calls = [] {
    sqlite3_io_methods out{};
    out.iVersion = 2;
    out.xClose = close;
    out.xRead = read;
    out.xWrite = write;
    out.xTruncate = truncate;
    out.xSync = sync;
    out.xFileSize = size;
    out.xLock = lock;
    out.xUnlock = unlock;
    out.xCheckReservedLock = check_reserved;
    out.xFileControl = control;
    out.xSectorSize = sector_size;
    out.xDeviceCharacteristics = traits;
    out.xShmMap = map;
    out.xShmLock = shm_lock;
    out.xShmBarrier = barrier;
    out.xShmUnmap = unmap;
    return out;
  }();
  return calls;
}

SimulatedDisk::SimulatedDisk(std::filesystem::path folder, std::uint64_t seed)
    : folder_(folder.string() + "/"), random_(seed), vfs_(std::make_unique<sqlite3_vfs>()) {
  sqlite3_initialize();
  beneath_ = sqlite3_vfs_find(nullptr);
  if (beneath_ == nullptr || std::strcmp(beneath_->zName, "simulated-disk") == 0)
    throw std::logic_error("one simulated disk at a time");
  *vfs_ = *beneath_;  // time, randomness, sleep, and the loading of extensions stay
  vfs_->zName = "simulated-disk";
  vfs_->pAppData = this;
  vfs_->pNext = nullptr;
  vfs_->szOsFile = std::max(beneath_->szOsFile, static_cast<int>(sizeof(DiskCalls::File)));
  vfs_->xOpen = DiskCalls::open;
  vfs_->xDelete = DiskCalls::remove;
  vfs_->xAccess = DiskCalls::access;
  vfs_->xFullPathname = DiskCalls::full_path;
  sqlite3_vfs_register(vfs_.get(), 1);
}

SimulatedDisk::~SimulatedDisk() {
  sqlite3_vfs_unregister(vfs_.get());
  sqlite3_vfs_register(beneath_, 1);
}

void SimulatedDisk::tell(Lie lie) {
  const std::lock_guard guard(mutex_);
  lie_ = lie;
}

std::uint64_t SimulatedDisk::operations() const {
  const std::lock_guard guard(mutex_);
  return operations_;
}

void SimulatedDisk::cut_power_at(std::uint64_t operation) {
  const std::lock_guard guard(mutex_);
  cut_at_ = operation;
}

void SimulatedDisk::kill_process() {
  const std::lock_guard guard(mutex_);
  power_ = false;
}

void SimulatedDisk::start_process() {
  const std::lock_guard guard(mutex_);
  for (auto& [name, inode] : seen_) inode->locks = std::make_shared<Locks>();
  power_ = true;
  cut_at_ = 0;
  refusing_.reset();
}

bool SimulatedDisk::has_power() const {
  const std::lock_guard guard(mutex_);
  return power_;
}

void SimulatedDisk::refuse(Refusal refusal, std::uint64_t first, bool once) {
  const std::lock_guard guard(mutex_);
  refusing_ = Refusing{refusal, first, once};
  refused_ = 0;
}

void SimulatedDisk::allow() {
  const std::lock_guard guard(mutex_);
  refusing_.reset();
}

std::uint64_t SimulatedDisk::refused() const {
  const std::lock_guard guard(mutex_);
  return refused_;
}

std::optional<std::string> SimulatedDisk::content(const std::filesystem::path& file) const {
  const std::lock_guard guard(mutex_);
  const auto found = seen_.find(file.string());
  if (found == seen_.end()) return std::nullopt;
  return found->second->seen;
}

void SimulatedDisk::put(const std::filesystem::path& file, std::string bytes) {
  const std::lock_guard guard(mutex_);
  auto& inode = seen_[file.string()];
  if (!inode) inode = DiskCalls::new_inode();
  inode->kept = inode->seen = std::move(bytes);
  inode->changes.clear();
  kept_[file.string()] = inode;
}

void SimulatedDisk::remove(const std::filesystem::path& file) {
  const std::lock_guard guard(mutex_);
  seen_.erase(file.string());
  kept_.erase(file.string());
}

SimulatedDisk::Step SimulatedDisk::step(bool is_write, bool is_sync) {
  if (!power_) return Step::dark;
  if (++operations_ == cut_at_) {
    power_ = false;
    return Step::power_goes;
  }
  if (!refusing_) return Step::go;
  const bool concerned = refusing_->refusal == Refusal::failing_sync ? is_sync : is_write;
  if (!concerned) return Step::go;
  if (refusing_->left > 1) {
    --refusing_->left;
    return Step::go;
  }
  if (refusing_->once && refused_ > 0) return Step::go;
  ++refused_;
  return refusing_->refusal == Refusal::full ? Step::refused_full : Step::refused_io;
}

bool SimulatedDisk::owns(const char* path) const {
  return std::strncmp(path, folder_.c_str(), folder_.size()) == 0;
}

void SimulatedDisk::rename_in_sight(const std::string& name, const std::shared_ptr<Inode>& inode) {
  if (inode)
    seen_[name] = inode;
  else
    seen_.erase(name);
  name_changes_.push_back({name, inode});
}

void SimulatedDisk::synchronise_folder() {
  kept_ = seen_;
  name_changes_.clear();
}

void SimulatedDisk::synchronise(Inode& inode) {
  for (const auto& change : inode.changes) apply(inode.kept, change);
  inode.changes.clear();
}

void SimulatedDisk::half_synchronise(Inode& inode) {
  for (const auto& change : inode.changes)
    if (chance(2)) apply(inode.kept, change);
  inode.changes.clear();
}

void SimulatedDisk::apply(std::string& content, const Change& change) {
  if (change.is_cut) {
    content.resize(change.offset);
    return;
  }
  const auto end = change.offset + change.bytes.size();
  if (content.size() < end) content.resize(end);
  content.replace(change.offset, change.bytes.size(), change.bytes);
}

// What is left of the changes not synchronised: nothing, everything, or any part.
void SimulatedDisk::survive(Inode& inode) {
  const auto mood = random_() % 5;
  const unsigned kept_of_hundred = mood == 0 ? 0 : mood == 1 ? 100 : static_cast<unsigned>(random_() % 101);
  for (const auto& change : inode.changes) {
    if (change.is_cut) {
      if (random_() % 100 < kept_of_hundred) apply(inode.kept, change);
      continue;
    }
    for (std::uint64_t done = 0; done < change.bytes.size();) {
      const auto until_next = sector - (change.offset + done) % sector;
      auto piece = change.bytes.substr(done, until_next);
      const auto at = change.offset + done;
      done += piece.size();
      if (random_() % 100 >= kept_of_hundred) continue;
      if (mood > 1 && chance(16)) piece.resize(random_() % (piece.size() + 1));
      if (!piece.empty()) apply(inode.kept, {at, std::move(piece), false});
    }
  }
  inode.changes.clear();
  inode.seen = inode.kept;
}

void SimulatedDisk::lose_power() {
  const std::lock_guard guard(mutex_);
  std::map<std::string, std::vector<std::shared_ptr<Inode>>> by_name;
  for (const auto& change : name_changes_) by_name[change.name].push_back(change.inode);
  for (const auto& [name, changes] : by_name) {
    const auto done = random_() % (changes.size() + 1);
    if (done == 0) continue;
    if (const auto& last = changes[done - 1])
      kept_[name] = last;
    else
      kept_.erase(name);
  }
  name_changes_.clear();
  for (auto& [name, inode] : kept_) {
    survive(*inode);
    inode->locks = std::make_shared<Locks>();
  }
  seen_ = kept_;
  power_ = true;
  cut_at_ = 0;
  refusing_.reset();
}

}  // namespace shankwright::support
