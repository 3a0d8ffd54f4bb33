// SPDX-License-Identifier: GPL-3.0-or-later
// What was measured before. An entry belongs to the content of a file, the settings and the build of the
// program; the file is read through each time, so that no date can pass old numbers for new ones.
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

  /// The entry of a file's content. Nothing when the file cannot be read, or its format may refer to others.
  struct Key {
    std::array<std::uint64_t, 2> hash{};
    bool operator==(const Key&) const = default;
  };
  std::optional<Key> key(const std::filesystem::path& file) const;

  /// Nothing when it is not known, or its entry is damaged.
  std::optional<Measured> find(const Key& key, const std::filesystem::path& file) const;
  /// Whole or not at all; what cannot be kept is not.
  void keep(const Key& key, const Measured& measured) const;

 private:
  std::filesystem::path place(const Key& key) const;

  std::filesystem::path folder_;
  std::string settings_;
  bool more_formats_ = false;
};

}  // namespace pourwright
