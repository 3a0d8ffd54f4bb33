// SPDX-License-Identifier: GPL-3.0-or-later
// Measured files kept on disk. Whatever is wrong with an entry makes it one that is not there: nothing in
// the folder is believed without its checksum, and a failure to write is no failure of the measuring.
#include "pipeline/cache.hpp"

#include <pourwright/mesh_format.hpp>

#include "pipeline/codec.hpp"

#include <algorithm>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <memory>
#include <type_traits>
#include <vector>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>
#include <xxhash.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_in_a_folder = 1'000;  // of 256
constexpr std::uint64_t largest_entry = 64 << 20;

// Dates of some disks are as coarse as this: what is written again before then may keep its date.
constexpr std::int64_t coarsest_date = 2;

struct Header {
  std::array<char, 8> magic{'P', 'W', 'C', 'A', 'C', 'H', 'E', '1'};
  std::array<std::uint64_t, 2> key{};
  std::uint64_t size = 0, checksum = 0;
};

struct StampEntry {
  std::array<char, 8> magic{'P', 'W', 'S', 'T', 'A', 'M', 'P', '1'};
  Cache::Stamp stamp;
  std::array<std::uint64_t, 2> hash{};
  std::uint64_t checksum = 0;
};
static_assert(std::has_unique_object_representations_v<StampEntry>);

std::uint64_t checksum_of(const StampEntry& e) {
  return XXH3_64bits(&e, offsetof(StampEntry, checksum));
}

class File {
 public:
  explicit File(int fd) : fd_(fd) {}
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() {
    if (fd_ >= 0) ::close(fd_);
  }
  int fd() const { return fd_; }
  explicit operator bool() const { return fd_ >= 0; }

 private:
  int fd_;
};

/// Fewer bytes only at the end of the file; nothing on an error.
std::optional<std::size_t> read_up_to(int fd, char* into, std::size_t n) {
  std::size_t done = 0;
  while (done < n) {
    const ssize_t got = ::read(fd, into + done, n - done);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return std::nullopt;
    if (got == 0) break;
    done += static_cast<std::size_t>(got);
  }
  return done;
}

bool write_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0 && errno != EINTR) return false;
    if (n > 0) bytes.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

/// All of it or nothing, under its name only when it is whole.
void write_beside(const fs::path& place, std::string_view head, std::string_view rest) {
  ::mkdir(place.parent_path().c_str(), 0700);
  std::string beside = place.string() + ".XXXXXX";
  bool whole = false;
  {
    const File out(::mkostemp(beside.data(), O_CLOEXEC));
    if (!out) return;
    whole = write_all(out.fd(), head) && write_all(out.fd(), rest);
  }
  if (!whole || ::rename(beside.c_str(), place.c_str()) != 0) ::unlink(beside.c_str());
}

template <class T>
std::string_view bytes_in(const T& v) {
  return {reinterpret_cast<const char*>(&v), sizeof v};
}

std::string hex(const XXH128_hash_t& hash) {
  return fmt::format("{:016x}{:016x}", hash.high64, hash.low64);
}

std::array<std::int64_t, 2> date(const timespec& t) {
  return {t.tv_sec, t.tv_nsec};
}

/// Nothing when there is no such file, or it is no file of bytes.
std::optional<Cache::Stamp> stamp_of(int fd) {
  struct stat about {};
  if (::fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) return std::nullopt;
  return Cache::Stamp{about.st_dev, about.st_ino, static_cast<std::uint64_t>(about.st_size),
                      date(about.st_mtim), date(about.st_ctim)};
}

File opened(const fs::path& file) {
  return File(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
}

/// The time, as the disk in question would write it.
std::array<std::int64_t, 2> time_in(const fs::path& folder) {
  std::string name = (folder / "now.XXXXXX").string();
  const File file(::mkostemp(name.data(), O_CLOEXEC));
  if (!file) return {};
  ::unlink(name.c_str());
  const auto stamp = stamp_of(file.fd());
  return stamp ? stamp->written : std::array<std::int64_t, 2>{};
}

bool names_its_file(const Measured& m) {
  const std::string name = fs::path(m.row.path).filename().string();
  const auto in = [&](const std::string& text) { return text.find(name) != std::string::npos; };
  if (m.row.error && (in(m.row.error->text) || in(m.row.error->hint))) return true;
  return std::any_of(m.row.notes.begin(), m.row.notes.end(), [&](const Note& n) { return in(n.text); });
}

/// Only what the content itself decides: next time there may be more memory or time, or the disk may answer.
bool lasts(const Measured& m) {
  return !m.row.error || info(m.row.error->code).kind == Kind::bad_data;
}

/// The oldest entries of a folder that has grown too large.
void thin_out(const fs::path& folder) {
  std::vector<std::pair<fs::file_time_type, fs::path>> entries;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    std::error_code gone;
    const auto at = fs::last_write_time(it->path(), gone);
    if (!gone) entries.emplace_back(at, it->path());
  }
  if (entries.size() <= most_in_a_folder) return;
  std::sort(entries.begin(), entries.end());
  for (std::size_t i = 0; i < entries.size() - most_in_a_folder * 3 / 4; ++i)
    fs::remove(entries[i].second, error);
}

}  // namespace

Cache::Cache(const MeasureSettings& settings) : more_formats_(settings.more_formats) {
  if (settings.cache.empty() || settings.keep_mesh) return;
  std::error_code error;
  fs::create_directories(settings.cache, error);
  if (error) return;
  // What one knows of a workshop's molds is nobody else's business.
  fs::permissions(settings.cache, fs::perms::owner_all, error);
  if (error) return;
  folder_ = settings.cache;
  settings_ = codec::bytes_of(settings);
  opened_ = time_in(folder_);
}

std::optional<std::string> Cache::ending_of(const fs::path& file) const {
  std::string ending = file_ending(file.native());
  const MeshFormat promised = promised_format(ending);
  if (more_formats_ && (promised == MeshFormat::unknown || !info_of(promised).own)) return std::nullopt;
  return ending;
}

std::optional<Cache::Key> Cache::key(const fs::path& file) const {
  static constexpr std::size_t block = 256 << 10;  // stays in the processor's own cache
  const auto ending = ending_of(file);
  if (folder_.empty() || !ending) return std::nullopt;
  const File in = opened(file);
  const auto stamp = in ? stamp_of(in.fd()) : std::nullopt;
  if (!stamp) return std::nullopt;
  struct Free {
    void operator()(XXH3_state_t* s) const { XXH3_freeState(s); }
  };
  const std::unique_ptr<XXH3_state_t, Free> state(XXH3_createState());
  if (!state) return std::nullopt;
  XXH3_128bits_reset(state.get());
  XXH3_128bits_update(state.get(), settings_.data(), settings_.size());
  XXH3_128bits_update(state.get(), ending->data(), ending->size());
  thread_local std::vector<char> bytes(block);
  for (;;) {
    const auto n = read_up_to(in.fd(), bytes.data(), block);
    if (!n) return std::nullopt;
    XXH3_128bits_update(state.get(), bytes.data(), *n);
    if (*n < block) break;
  }
  if (stamp_of(in.fd()) != stamp) return std::nullopt;
  const XXH128_hash_t hash = XXH3_128bits_digest(state.get());
  return Key{{hash.high64, hash.low64}, *stamp, *ending};
}

fs::path Cache::place(const std::array<std::uint64_t, 2>& hash) const {
  const std::string name = hex({hash[1], hash[0]});
  return folder_ / name.substr(0, 2) / name.substr(2);
}

fs::path Cache::stamp_place(const Stamp& stamp, const std::string& ending) const {
  std::string all = settings_ + ending;
  all += bytes_in(stamp.device);
  all += bytes_in(stamp.number);
  const std::string name = hex(XXH3_128bits(all.data(), all.size()));
  return folder_ / ("files-" + name.substr(0, 2)) / name.substr(2);
}

std::optional<Measured> Cache::recall(const fs::path& file) const {
  const auto ending = ending_of(file);
  if (folder_.empty() || !ending) return std::nullopt;
  // Opened, because only then a disk in the network looks again.
  const File there = opened(file);
  const auto stamp = there ? stamp_of(there.fd()) : std::nullopt;
  if (!stamp) return std::nullopt;
  const File in(::open(stamp_place(*stamp, *ending).c_str(), O_RDONLY | O_CLOEXEC));
  StampEntry e;
  if (!in || read_up_to(in.fd(), reinterpret_cast<char*>(&e), sizeof e) != sizeof e) return std::nullopt;
  if (e.magic != StampEntry().magic || e.checksum != checksum_of(e) || e.stamp != *stamp) return std::nullopt;
  return entry(e.hash, file);
}

std::optional<Measured> Cache::find(const Key& key, const fs::path& file) const {
  return entry(key.hash, file);
}

std::optional<Measured> Cache::entry(const std::array<std::uint64_t, 2>& hash, const fs::path& file) const {
  const File in(::open(place(hash).c_str(), O_RDONLY | O_CLOEXEC));
  Header header;
  if (!in || read_up_to(in.fd(), reinterpret_cast<char*>(&header), sizeof header) != sizeof header)
    return std::nullopt;
  if (header.magic != Header().magic || header.key != hash || header.size > largest_entry)
    return std::nullopt;
  // One byte more than there should be would be seen, too.
  std::string bytes(header.size + 1, '\0');
  const auto n = read_up_to(in.fd(), bytes.data(), bytes.size());
  if (!n || *n != header.size) return std::nullopt;
  bytes.pop_back();
  if (XXH3_64bits(bytes.data(), bytes.size()) != header.checksum) return std::nullopt;
  auto measured = codec::measured_from(bytes);
  if (!measured) return std::nullopt;
  if (measured->row.path != file.string()) {
    if (names_its_file(*measured)) return std::nullopt;
    measured->row.path = file.string();
  }
  return measured;
}

void Cache::keep(const Key& key, const Measured& measured) const {
  if (!lasts(measured)) return;
  const std::string bytes = codec::bytes_of(measured);
  if (bytes.size() > largest_entry) return;
  Header header;
  header.key = key.hash;
  header.size = bytes.size();
  header.checksum = XXH3_64bits(bytes.data(), bytes.size());
  const fs::path place = this->place(key.hash);
  write_beside(place, bytes_in(header), bytes);
  // Now and then, by chance of the content.
  if (key.hash[1] % 64 == 0) thin_out(place.parent_path());
  keep_stamp(key);
}

void Cache::keep_stamp(const Key& key) const {
  if (key.stamp.changed[0] + coarsest_date >= opened_[0]) return;
  StampEntry e;
  e.stamp = key.stamp;
  e.hash = key.hash;
  e.checksum = checksum_of(e);
  const fs::path place = stamp_place(key.stamp, key.ending);
  write_beside(place, bytes_in(e), {});
  if (key.hash[1] % 64 == 0) thin_out(place.parent_path());
}

}  // namespace pourwright
