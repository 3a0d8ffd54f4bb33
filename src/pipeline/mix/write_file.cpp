// SPDX-License-Identifier: GPL-3.0-or-later
// Output files, whole or not at all: written beside their place and moved there; what exists is kept unless
// --force.
#include <pourwright/pipeline_run.hpp>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <string>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace pourwright {
namespace {

Problem failed(const std::filesystem::path& path, int error) {
  return fail(Code::output_failed,
              fmt::format("“{}” cannot be written: {}", path.string(), std::strerror(error)),
              "check the folder, its permissions and the space left");
}

/// Zero, or errno.
int write_all(int file, std::string_view text) {
  while (!text.empty()) {
    const ssize_t n = ::write(file, text.data(), text.size());
    if (n < 0 && errno != EINTR) return errno;
    if (n > 0) text.remove_prefix(static_cast<std::size_t>(n));
  }
  return ::fsync(file) == 0 ? 0 : errno;
}

bool holds(const std::filesystem::path& path, std::string_view text) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error) ||
      std::filesystem::file_size(path, error) != text.size())
    return false;
  std::ifstream in(path, std::ios::binary);
  std::string there(text.size(), '\0');
  return in.read(there.data(), static_cast<std::streamsize>(there.size())) && there == text;
}

}  // namespace

// Beside its place and then moved there: who looks sees the old file or the whole new one. A run that was
// ended between two outputs is begun again, so what is there already in the very same bytes is as good as
// written.
std::optional<Problem> write_file(const std::filesystem::path& path, std::string_view text, bool overwrite) {
  std::error_code ignored;
  if (!overwrite && holds(path, text)) return std::nullopt;
  if (!overwrite && std::filesystem::exists(std::filesystem::symlink_status(path, ignored)))
    return fail(Code::output_exists, fmt::format("“{}” exists already", path.string()),
                "give another name, or --force to replace it");
  std::string beside = path.string() + ".XXXXXX";
  const int file = ::mkstemp(beside.data());
  if (file < 0) return failed(path, errno);
  int error = write_all(file, text);
  const mode_t mask = ::umask(0);
  ::umask(mask);
  if (error == 0 && ::fchmod(file, 0666 & ~mask) != 0) error = errno;
  if (::close(file) != 0 && error == 0) error = errno;
  if (error == 0 && ::rename(beside.c_str(), path.c_str()) != 0) error = errno;
  if (error == 0) return std::nullopt;
  ::unlink(beside.c_str());
  return failed(path, error);
}

}  // namespace pourwright
