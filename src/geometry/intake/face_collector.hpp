// SPDX-License-Identifier: GPL-3.0-or-later
// Vertices and faces of an indexed file on their way to a TriangleSoup.
#pragma once

#include <pourwright/intake.hpp>

#include "geometry/intake/polygon.hpp"

#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace pourwright::intake {

/// What every reader needs to know about its task.
struct Job {
  std::string label;               ///< the file's name, printable
  std::optional<LengthUnit> unit;  ///< asked for by the caller
  std::size_t max_triangles = 0;
  std::uint64_t max_bytes = 0;

  double scale() const { return unit ? millimetres_in(*unit) : 1; }
  /// The result so far: format and unit filled in, no triangles.
  MeshFile start(MeshFormat format) const;
};

/// Half-edges are counted in 32 bits, and one value means "none".
inline constexpr std::size_t most_triangles = 0xFFFFFFFEu / 3;
inline constexpr std::size_t most_vertices = 0xFFFFFFFEu;

Problem too_many_triangles(const Job& job);
Problem no_triangles(const Job& job, std::string_view instead);
Problem cut_off(const Job& job, std::string what);
Problem bad_index(const Job& job, const std::string& place, std::int64_t index, std::uint64_t vertices);
Problem not_finite(const Job& job, const std::string& place);

void note(Notes& notes, std::string code, std::string text, bool warning = false);

class FaceCollector {
 public:
  explicit FaceCollector(const Job& job) : job_(job), most_(std::min(job.max_triangles, most_triangles)) {}

  std::vector<Vec3> vertices;

  /// Indices may name vertices that are still to come; the reader checks the range before `finish`.
  void triangle(Index a, Index b, Index c) {
    if (triangles_.size() < most_)
      triangles_.push_back({a, b, c});
    else
      full_ = true;
  }
  /// Any number of corners.
  void face(std::span<const Index> corners);
  /// Room for n more triangles; n must be borne out by the bytes of the file.
  void expect_triangles(std::size_t n) { triangles_.reserve(std::min(most_, triangles_.size() + n)); }

  /// Too many triangles or vertices; nothing more is kept then.
  bool full() const { return full_ || vertices.size() > most_vertices; }
  std::size_t faces() const { return triangles_.size() + waiting_sizes_.size() + skipped_; }

  /// Scales to millimetres, cuts the faces that wait, welds, and adds the notes. Scaling comes before the
  /// weld: in doubles a factor can make two neighbouring coordinates equal.
  Expected<MeshFile> finish(MeshFile result, double scale) &&;

 private:
  void cut(std::span<const Index> corners);

  const Job& job_;
  std::size_t most_;
  std::vector<Triangle> triangles_;
  std::vector<Index> waiting_corners_;  // faces that use vertices still to come
  std::vector<Index> waiting_sizes_;
  PolygonCutter cutter_;
  std::size_t polygons_ = 0, forced_ = 0, skipped_ = 0;
  bool full_ = false, too_costly_ = false;
};

}  // namespace pourwright::intake
