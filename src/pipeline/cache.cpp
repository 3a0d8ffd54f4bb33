// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/cache.hpp"

#include "pipeline/codec.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <memory>
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

struct Header {
  std::array<char, 8> magic{'P', 'W', 'C', 'A', 'C', 'H', 'E', '1'};
  std::array<std::uint64_t, 2> key{};
  std::uint64_t size = 0, checksum = 0;
};

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

std::string lower_ending(const fs::path& file) {
  std::string ending = file.extension().string();
  for (char& c : ending)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return ending;
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
}

std::optional<Cache::Key> Cache::key(const fs::path& file) const {
  static constexpr std::size_t block = 256 << 10;  // stays in the processor's own cache
  static constexpr std::array<std::string_view, 5> alone{".stl", ".obj", ".ply", ".off", ".3mf"};
  if (folder_.empty()) return std::nullopt;
  const std::string ending = lower_ending(file);
  if (more_formats_ && std::find(alone.begin(), alone.end(), ending) == alone.end()) return std::nullopt;
  const File in(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
  struct stat about {};
  if (!in || ::fstat(in.fd(), &about) != 0 || !S_ISREG(about.st_mode)) return std::nullopt;
  struct Free {
    void operator()(XXH3_state_t* s) const { XXH3_freeState(s); }
  };
  const std::unique_ptr<XXH3_state_t, Free> state(XXH3_createState());
  if (!state) return std::nullopt;
  XXH3_128bits_reset(state.get());
  XXH3_128bits_update(state.get(), settings_.data(), settings_.size());
  XXH3_128bits_update(state.get(), ending.data(), ending.size());
  thread_local std::vector<char> bytes(block);
  for (;;) {
    const auto n = read_up_to(in.fd(), bytes.data(), block);
    if (!n) return std::nullopt;
    XXH3_128bits_update(state.get(), bytes.data(), *n);
    if (*n < block) break;
  }
  const XXH128_hash_t hash = XXH3_128bits_digest(state.get());
  return Key{{hash.high64, hash.low64}};
}

fs::path Cache::place(const Key& key) const {
  const std::string name = fmt::format("{:016x}{:016x}", key.hash[0], key.hash[1]);
  return folder_ / name.substr(0, 2) / name.substr(2);
}

std::optional<Measured> Cache::find(const Key& key, const fs::path& file) const {
  const File in(::open(place(key).c_str(), O_RDONLY | O_CLOEXEC));
  Header header;
  if (!in || read_up_to(in.fd(), reinterpret_cast<char*>(&header), sizeof header) != sizeof header)
    return std::nullopt;
  if (header.magic != Header().magic || header.key != key.hash || header.size > largest_entry)
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
  const fs::path place = this->place(key);
  ::mkdir(place.parent_path().c_str(), 0700);
  std::string beside = place.string() + ".XXXXXX";
  bool whole = false;
  {
    const File out(::mkostemp(beside.data(), O_CLOEXEC));
    if (!out) return;
    whole = write_all(out.fd(), {reinterpret_cast<const char*>(&header), sizeof header}) &&
            write_all(out.fd(), bytes);
  }
  if (!whole || ::rename(beside.c_str(), place.c_str()) != 0) ::unlink(beside.c_str());
  // Now and then, by chance of the content.
  if (key.hash[1] % 64 == 0) thin_out(place.parent_path());
}

}  // namespace pourwright
