// SPDX-License-Identifier: GPL-3.0-or-later
// What the header of a PLY file says about the data behind it.
#pragma once

#include "geometry/intake/byte_window.hpp"
#include "geometry/intake/face_collector.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace pourwright::intake {

enum class PlyType : std::uint8_t {
  int8,
  uint8,
  int16,
  uint16,
  int32,
  uint32,
  int64,
  uint64,
  float32,
  float64
};
std::size_t bytes_of(PlyType type);

struct PlyProperty {
  std::string name;
  PlyType type = PlyType::float32;
  std::optional<PlyType> count;  ///< a list whose length has this type
};

struct PlyElement {
  std::string name;
  std::uint64_t count = 0;
  std::vector<PlyProperty> properties;

  /// Position of the property with one of these names, or −1.
  int find(std::initializer_list<std::string_view> names) const;
  /// Fewest bytes of one row in a binary file; lists may be empty.
  std::uint64_t fewest_bytes() const;
};

struct PlyHeader {
  enum class Encoding : std::uint8_t { ascii, little, big };
  Encoding encoding = Encoding::ascii;
  std::vector<PlyElement> elements;
  std::uint64_t lines = 0;
};

/// Leaves the window at the first byte of the data.
Expected<PlyHeader> read_ply_header(ByteWindow& bytes, const Job& job);

}  // namespace pourwright::intake
