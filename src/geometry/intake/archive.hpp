// SPDX-License-Identifier: GPL-3.0-or-later
// A zip archive that may be hostile: entries are read as streams under one allowance of uncompressed bytes.
#pragma once

#include "geometry/intake/byte_window.hpp"
#include "geometry/intake/readers.hpp"

#include <memory>
#include <optional>
#include <span>
#include <string>

struct zip;

namespace pourwright::intake {

class Archive {
 public:
  static Expected<Archive> open(const Package& package, const Job& job);

  /// Position of the entry with this name, ASCII case ignored as Open Packaging wants it.
  std::optional<std::uint64_t> find(const std::string& name) const;

  /// The bytes of one entry. The archive must outlive the window.
  Expected<ByteWindow> read(std::uint64_t entry);
  /// All of a small entry.
  Expected<std::string> read_small(std::uint64_t entry, std::size_t most);

 private:
  struct Closer {
    void operator()(zip* archive) const;
  };
  Archive(zip* archive, const Job& job, std::uint64_t allowance)
      : zip_(archive), job_(&job), allowance_(std::make_unique<std::uint64_t>(allowance)) {}

  std::unique_ptr<zip, Closer> zip_;
  const Job* job_;
  std::unique_ptr<std::uint64_t> allowance_;
};

}  // namespace pourwright::intake
