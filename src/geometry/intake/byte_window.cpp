// SPDX-License-Identifier: GPL-3.0-or-later
// A file seen through one window of fixed size that moves forward. Behind the window's end stand zero bytes,
// so that a reader may look a word ahead without asking.
#include "geometry/intake/byte_window.hpp"

#include <algorithm>
#include <cerrno>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace pourwright::intake {
namespace {

constexpr std::size_t padding = 16, smallest = 4096;

class FileSource final : public ByteSource {
 public:
  FileSource(int fd, std::string_view label) : fd_(fd), label_(label) {}
  std::size_t read(char* into, std::size_t n) override {
    if (error_ != 0) return 0;
    while (true) {
      const ssize_t got = pread(fd_, into, n, offset_);
      if (got >= 0) {
        offset_ += got;
        return static_cast<std::size_t>(got);
      }
      if (errno == EINTR) continue;
      error_ = errno;
      return 0;
    }
  }
  std::optional<Problem> trouble() const override {
    if (error_ == 0) return std::nullopt;
    return fail(Code::file_unreadable,
                fmt::format("{}: reading stopped at byte {}: {}", label_, offset_, std::strerror(error_)),
                "check the disk or the network folder, then try again");
  }

 private:
  int fd_;
  std::string label_;
  off_t offset_ = 0;
  int error_ = 0;
};

class MemorySource final : public ByteSource {
 public:
  explicit MemorySource(std::span<const std::byte> bytes) : rest_(bytes) {}
  std::size_t read(char* into, std::size_t n) override {
    const std::size_t got = std::min(n, rest_.size());
    if (got > 0) std::memcpy(into, rest_.data(), got);
    rest_ = rest_.subspan(got);
    return got;
  }

 private:
  std::span<const std::byte> rest_;
};

std::string_view kind_of(mode_t mode) {
  if (S_ISDIR(mode)) return "a folder";
  if (S_ISFIFO(mode)) return "a pipe";
  if (S_ISSOCK(mode)) return "a socket";
  return "a device";
}

}  // namespace

ByteWindow::ByteWindow(std::unique_ptr<ByteSource> source, std::uint64_t size)
    : source_(std::move(source)),
      room_(size == 0 ? capacity : std::clamp<std::uint64_t>(size, smallest, capacity)),
      buffer_(std::make_unique_for_overwrite<char[]>(room_ + padding)),
      size_(size) {
  cursor = limit = buffer_.get();
  std::memset(buffer_.get(), 0, padding);
}

bool ByteWindow::refill(std::size_t n) {
  if (ended_) return false;
  char* const start = buffer_.get();
  const std::size_t kept = have();
  base_ += static_cast<std::uint64_t>(cursor - start);
  std::memmove(start, cursor, kept);
  std::size_t filled = kept;
  while (filled < n || filled == kept) {
    const std::size_t got = source_->read(start + filled, room_ - filled);
    if (got == 0) {
      ended_ = true;
      break;
    }
    filled += got;
    if (filled == room_) break;
  }
  cursor = start;
  limit = start + filled;
  std::memset(start + filled, 0, padding);
  return filled >= n;
}

bool ByteWindow::skip(std::uint64_t n) {
  while (n > have()) {
    n -= have();
    cursor = limit;
    if (!want(1)) return n == 0;
  }
  cursor += n;
  return true;
}

OpenFile::~OpenFile() {
  if (fd >= 0) close(fd);
}

Expected<OpenFile> open_regular(const std::filesystem::path& path, std::string_view label) {
  // O_NONBLOCK: opening a pipe that nobody writes to must not wait. It has no effect on regular files.
  OpenFile file(open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY), 0);
  if (file.fd < 0) {
    const int error = errno;
    if (error == ENOENT || error == ENOTDIR)
      return fail(Code::file_missing, fmt::format("{}: there is no such file", label),
                  "check the spelling and the folder");
    return fail(Code::file_unreadable, fmt::format("{}: cannot be opened: {}", label, std::strerror(error)),
                "check that you may read it");
  }
  struct stat about {};
  if (fstat(file.fd, &about) != 0)
    return fail(Code::file_unreadable, fmt::format("{}: {}", label, std::strerror(errno)), "try again");
  if (!S_ISREG(about.st_mode))
    return fail(Code::file_unreadable,
                fmt::format("{} is {}, not a mesh file", label, kind_of(about.st_mode)),
                "name a regular file; save a stream to a file first");
  file.size = static_cast<std::uint64_t>(about.st_size);
  return file;
}

std::unique_ptr<ByteSource> file_source(int fd, std::string_view label) {
  return std::make_unique<FileSource>(fd, label);
}
std::unique_ptr<ByteSource> memory_source(std::span<const std::byte> bytes) {
  return std::make_unique<MemorySource>(bytes);
}

}  // namespace pourwright::intake
