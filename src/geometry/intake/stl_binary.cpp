// SPDX-License-Identifier: GPL-3.0-or-later
// Binary STL: 50 bytes a triangle. How many there are is settled between the header's count and the length
// of the file, and each disagreement is told.
#include "geometry/intake/readers.hpp"
#include "geometry/intake/scalars.hpp"
#include "geometry/mesh/vertex_welder.hpp"

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

using Welder = VertexWelder<float>;
constexpr std::uint64_t header_bytes = 84, record_bytes = 50;
constexpr std::size_t per_batch = Welder::batch / 3;

/// How many triangles to read, given what the header says and what is there.
Expected<std::uint64_t> settle_count(std::uint64_t told, std::uint64_t body, const Job& job, Notes& notes) {
  const std::uint64_t whole = body / record_bytes, rest = body % record_bytes;
  if (whole == 0 && rest == 0) return no_triangles(job, "it is only a header");
  if (told == whole && rest == 0) return whole;
  if (told > 0 && told <= whole) {
    note(notes, "trailing-bytes",
         fmt::format("{} bytes after the {} triangles were ignored", body - told * record_bytes, told),
         body - told * record_bytes >= record_bytes);
    return told;
  }
  if (whole > 0 && rest == 0) {
    note(notes, "stl-count",
         fmt::format("the header promises {} triangles, the file holds {}; those were read", told, whole),
         true);
    return whole;
  }
  if (told > 0)
    return cut_off(
        job, fmt::format("the header promises {} triangles, the file ends in triangle {}", told, whole + 1));
  return fail(Code::file_malformed,
              fmt::format("{}: the header promises no triangles, but {} bytes follow it, which are not whole "
                          "triangles either",
                          job.label, body),
              "export the mesh again");
}

/// Nine coordinates of each of n records, −0 made +0. False when one is not finite.
bool load(const char* record, std::size_t n, Welder::Point* corners) {
  std::uint32_t largest = 0;
  for (std::size_t i = 0; i < n; ++i, record += record_bytes)
    for (std::size_t k = 0; k < 9; ++k) {
      const auto x = load_scalar<float, std::endian::little>(record + 12 + 4 * k);
      largest = std::max(largest, std::bit_cast<std::uint32_t>(x) & 0x7FFFFFFFu);
      corners[3 * i + k / 3][k % 3] = positive_zero(x);
    }
  return largest < 0x7F800000u;
}

Problem find_not_finite(const Welder::Point* corners, std::uint64_t first, const Job& job) {
  std::size_t i = 0;
  while (std::isfinite(corners[i][0]) && std::isfinite(corners[i][1]) && std::isfinite(corners[i][2])) ++i;
  return not_finite(job, fmt::format("triangle {}", first + i / 3 + 1));
}

}  // namespace

Expected<MeshFile> read_stl_binary(ByteWindow& bytes, const Job& job) {
  const std::uint64_t size = bytes.size();
  if (!bytes.want(header_bytes))
    return cut_off(
        job, fmt::format("a binary STL has {} bytes before its triangles, this has {}", header_bytes, size));
  MeshFile result = job.start(MeshFormat::stl_binary);
  const std::uint64_t told = load_scalar<std::uint32_t, std::endian::little>(bytes.cursor + 80);
  const auto settled = settle_count(told, size - header_bytes, job, result.notes);
  if (!settled) return settled.error();
  const auto count = static_cast<std::size_t>(*settled);
  if (count > std::min(job.max_triangles, most_triangles)) return too_many_triangles(job);
  bytes.skip(header_bytes);

  // A closed mesh has half as many vertices as triangles (Euler), and a few more for handles or rims.
  Welder welder(count / 2 + 1024);
  std::vector<Triangle>& triangles = result.soup.triangles;
  triangles.reserve(count);
  std::array<Welder::Point, Welder::batch> corners;
  while (triangles.size() < count) {
    if (!bytes.want(record_bytes))
      return cut_off(job, fmt::format("it ends in triangle {} of {}", triangles.size() + 1, count));
    const std::size_t n = std::min({per_batch, bytes.have() / record_bytes, count - triangles.size()});
    if (!load(bytes.cursor, n, corners.data())) return find_not_finite(corners.data(), triangles.size(), job);
    const std::size_t at = triangles.size();
    triangles.resize(at + n);
    welder.add(corners.data(), 3 * n, triangles[at].data());
    bytes.cursor += n * record_bytes;
  }
  result.soup.vertices = std::move(welder).take(job.scale());
  return result;
}

}  // namespace pourwright::intake
