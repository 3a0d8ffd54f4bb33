// SPDX-License-Identifier: GPL-3.0-or-later
// Bytes in order from a file, from memory or out of an archive, seen through a small sliding window.
#pragma once

#include <pourwright/problem.hpp>

#include <cstdint>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string_view>

namespace pourwright::intake {

class ByteSource {
 public:
  virtual ~ByteSource() = default;
  /// Up to n bytes; 0 at the end or after an error, which `trouble` then tells.
  virtual std::size_t read(char* into, std::size_t n) = 0;
  virtual std::optional<Problem> trouble() const { return std::nullopt; }
};

/// Reading by read() into 256 KB that stay in the cache beats a cold memory mapping several times over.
/// At `limit` stands a NUL, followed by at least 15 more, so that scanners may look a little ahead.
class ByteWindow {
 public:
  static constexpr std::size_t capacity = std::size_t{256} << 10;

  /// `size` is how many bytes the source will give, 0 if that is not known. A small one makes a small window.
  ByteWindow(std::unique_ptr<ByteSource> source, std::uint64_t size);

  /// Makes n ≤ capacity bytes available at `cursor`; false when fewer are left (all of them are there then).
  bool want(std::size_t n) { return have() >= n || refill(n); }
  std::size_t have() const { return static_cast<std::size_t>(limit - cursor); }
  bool at_end() { return !want(1); }
  bool exhausted() const { return ended_; }  ///< nothing will come after `limit`
  /// Moves on by n bytes, however many; false when the end comes first.
  bool skip(std::uint64_t n);

  std::uint64_t size() const { return size_; }
  std::uint64_t position() const { return base_ + static_cast<std::uint64_t>(cursor - buffer_.get()); }
  std::uint64_t remaining() const { return position() < size_ ? size_ - position() : 0; }
  std::optional<Problem> trouble() const { return source_->trouble(); }

  const char* cursor = nullptr;
  const char* limit = nullptr;

 private:
  bool refill(std::size_t n);

  std::unique_ptr<ByteSource> source_;
  std::size_t room_;
  std::unique_ptr<char[]> buffer_;
  std::uint64_t size_ = 0, base_ = 0;
  bool ended_ = false;
};

/// A regular file opened for reading; the path may be any byte string.
struct OpenFile {
  OpenFile() = default;
  explicit OpenFile(int descriptor, std::uint64_t bytes) : fd(descriptor), size(bytes) {}
  OpenFile(OpenFile&& other) noexcept : fd(std::exchange(other.fd, -1)), size(other.size) {}
  OpenFile& operator=(OpenFile&&) = delete;
  ~OpenFile();
  int fd = -1;
  std::uint64_t size = 0;
};
/// Refuses folders, pipes, devices and sockets, without waiting for them.
Expected<OpenFile> open_regular(const std::filesystem::path& path, std::string_view label);

/// Reads from the file's start; the descriptor stays the caller's.
std::unique_ptr<ByteSource> file_source(int fd, std::string_view label);
std::unique_ptr<ByteSource> memory_source(std::span<const std::byte> bytes);

}  // namespace pourwright::intake
