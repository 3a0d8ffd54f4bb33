// SPDX-License-Identifier: GPL-3.0-or-later
// A disk for SQLite that fails at a chosen change: the n-th write, truncation, sync or deletion. It can end
// the process there, write half and end it, or be full from then on.
#pragma once

#include <csignal>
#include <cstring>

#include <sqlite3.h>

namespace support {

class FaultyDisk {
 public:
  enum class Fault { none, kill, torn, full };

  /// Becomes SQLite's default disk until destroyed; one at a time.
  FaultyDisk(Fault fault, int at) {
    fault_ = fault;
    at_ = at;
    changes_ = 0;
    real_ = sqlite3_vfs_find(nullptr);
    vfs_ = *real_;
    vfs_.zName = "faulty";
    vfs_.szOsFile = static_cast<int>(sizeof(File)) + real_->szOsFile;
    vfs_.xOpen = open;
    vfs_.xDelete = remove;
    sqlite3_vfs_register(&vfs_, 1);
  }
  FaultyDisk(const FaultyDisk&) = delete;
  FaultyDisk& operator=(const FaultyDisk&) = delete;
  ~FaultyDisk() {
    sqlite3_vfs_unregister(&vfs_);
    sqlite3_vfs_register(real_, 1);
  }
  static int changes() { return changes_; }

 private:
  struct File {
    sqlite3_file base;
    sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
  };
  static sqlite3_file* real(sqlite3_file* f) { return reinterpret_cast<File*>(f)->real(); }

  /// True when this change must fail.
  static bool change() {
    ++changes_;
    if (changes_ < at_) return false;
    if (fault_ == Fault::kill) raise(SIGKILL);
    return fault_ == Fault::full;
  }

  static int write(sqlite3_file* f, const void* data, int n, sqlite3_int64 offset) {
    if (fault_ == Fault::torn && changes_ + 1 == at_) {
      real(f)->pMethods->xWrite(real(f), data, n / 2, offset);
      raise(SIGKILL);
    }
    return change() ? SQLITE_FULL : real(f)->pMethods->xWrite(real(f), data, n, offset);
  }
  static int truncate(sqlite3_file* f, sqlite3_int64 size) {
    (void)change();  // a full disk can still give room back
    return real(f)->pMethods->xTruncate(real(f), size);
  }
  static int sync(sqlite3_file* f, int flags) {
    (void)change();
    return real(f)->pMethods->xSync(real(f), flags);
  }
  static int remove(sqlite3_vfs*, const char* name, int sync_folder) {
    (void)change();
    return real_->xDelete(real_, name, sync_folder);
  }

  static int open(sqlite3_vfs*, const char* name, sqlite3_file* f, int flags, int* out) {
    static const sqlite3_io_methods methods = {
        3,
        [](sqlite3_file* file) {
          return real(file)->pMethods == nullptr ? SQLITE_OK : real(file)->pMethods->xClose(real(file));
        },
        [](sqlite3_file* file, void* to, int n, sqlite3_int64 at) {
          return real(file)->pMethods->xRead(real(file), to, n, at);
        },
        write,
        truncate,
        sync,
        [](sqlite3_file* file, sqlite3_int64* size) {
          return real(file)->pMethods->xFileSize(real(file), size);
        },
        [](sqlite3_file* file, int lock) { return real(file)->pMethods->xLock(real(file), lock); },
        [](sqlite3_file* file, int lock) { return real(file)->pMethods->xUnlock(real(file), lock); },
        [](sqlite3_file* file, int* held) {
          return real(file)->pMethods->xCheckReservedLock(real(file), held);
        },
        [](sqlite3_file* file, int op, void* arg) {
          return real(file)->pMethods->xFileControl(real(file), op, arg);
        },
        [](sqlite3_file* file) { return real(file)->pMethods->xSectorSize(real(file)); },
        [](sqlite3_file* file) { return real(file)->pMethods->xDeviceCharacteristics(real(file)); },
        [](sqlite3_file* file, int page, int size, int extend, void volatile** at) {
          return real(file)->pMethods->xShmMap(real(file), page, size, extend, at);
        },
        [](sqlite3_file* file, int offset, int n, int how) {
          return real(file)->pMethods->xShmLock(real(file), offset, n, how);
        },
        [](sqlite3_file* file) { real(file)->pMethods->xShmBarrier(real(file)); },
        [](sqlite3_file* file, int erase) { return real(file)->pMethods->xShmUnmap(real(file), erase); },
        [](sqlite3_file* file, sqlite3_int64 at, int n, void** to) {
          return real(file)->pMethods->xFetch(real(file), at, n, to);
        },
        [](sqlite3_file* file, sqlite3_int64 at, void* p) {
          return real(file)->pMethods->xUnfetch(real(file), at, p);
        },
    };
    auto* file = reinterpret_cast<File*>(f);
    std::memset(file->real(), 0, static_cast<std::size_t>(real_->szOsFile));
    const int result = real_->xOpen(real_, name, file->real(), flags, out);
    file->base.pMethods = file->real()->pMethods == nullptr ? nullptr : &methods;
    return result;
  }

  inline static Fault fault_ = Fault::none;
  inline static int at_ = 0, changes_ = 0;
  inline static sqlite3_vfs* real_ = nullptr;
  inline static sqlite3_vfs vfs_{};
};

}  // namespace support
