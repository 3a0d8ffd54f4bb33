// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdlib>
#include <filesystem>
#include <string>

#include <unistd.h>

namespace support {

/// An empty folder of its own, gone with the object.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    // In memory where there is such a place: tests that wait for every sync of a disk take minutes.
    const std::filesystem::path memory = "/dev/shm";
    std::error_code error;
    const bool usable = std::filesystem::is_directory(memory, error) && access(memory.c_str(), W_OK) == 0;
    std::string name =
        ((usable ? memory : std::filesystem::temp_directory_path()) / "pourwright-XXXXXX").string();
    if (mkdtemp(name.data()) != nullptr) path_ = name;
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder() {
    std::error_code error;
    if (!path_.empty()) std::filesystem::remove_all(path_, error);
  }
  std::filesystem::path operator/(std::string_view name) const { return path_ / name; }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace support
