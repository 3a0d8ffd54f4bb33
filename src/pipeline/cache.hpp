// SPDX-License-Identifier: GPL-3.0-or-later
// What was measured before. An entry belongs to the content of a file, the settings and the build of the
// program. A file that was read through once is known again by what the system says of it: its number, size
// and the dates of its content and of its own record. The last of these no program can set back, so that no
// date passes old numbers for new ones; it is believed only where it was over when the content was read.
#pragma once

#include "pipeline/measure.hpp"

#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

namespace pourwright {

class Cache {
 public:
  /// Entries go into `settings.cache`; when that is empty or cannot be used, nothing is remembered.
  explicit Cache(const MeasureSettings& settings);

  /// What the system says of a file.
  struct Stamp {
    std::uint64_t device = 0, number = 0, size = 0;
    std::array<std::int64_t, 2> written{}, changed{};  ///< seconds and nanoseconds
    bool operator==(const Stamp&) const = default;
  };
  /// Of the content of a file, and of the file that held it.
  struct Key {
    std::array<std::uint64_t, 2> hash{};
    Stamp stamp;
    std::string ending;
    bool operator==(const Key&) const = default;
  };
  /// Reads the file through. Nothing when it cannot be read, changes meanwhile, or its format may refer to
  /// others.
  std::optional<Key> key(const std::filesystem::path& file) const;

  /// What is known of a file that has not changed since it was read through, without reading it.
  std::optional<Measured> recall(const std::filesystem::path& file) const;
  /// Nothing when it is not known, or its entry is damaged.
  std::optional<Measured> find(const Key& key, const std::filesystem::path& file) const;
  /// Whole or not at all; what cannot be kept is not.
  void keep(const Key& key, const Measured& measured) const;
  /// The file that holds the content of an entry, for `recall`.
  void keep_stamp(const Key& key) const;

 private:
  std::optional<Measured> entry(const std::array<std::uint64_t, 2>& hash,
                                const std::filesystem::path& file) const;
  std::filesystem::path place(const std::array<std::uint64_t, 2>& hash) const;
  std::filesystem::path stamp_place(const Stamp& stamp, const std::string& ending) const;
  /// The ending by which the file is read; nothing when its content may not be all there is to it.
  std::optional<std::string> ending_of(const std::filesystem::path& file) const;

  std::filesystem::path folder_;
  std::string settings_;
  std::array<std::int64_t, 2> opened_{};  ///< by the clock of the disk
  bool more_formats_ = false;
};

}  // namespace pourwright
