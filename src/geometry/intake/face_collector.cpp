// SPDX-License-Identifier: GPL-3.0-or-later
// What every reader fills: corners become welded vertices, faces become triangles. Indices are checked here,
// once for all formats; a face may name vertices that come later in the file.
#include "geometry/intake/face_collector.hpp"

#include "geometry/mesh/vertex_welder.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::intake {

MeshFile Job::start(MeshFormat format) const {
  MeshFile result;
  result.format = format;
  if (unit) {
    result.unit = *unit;
    result.unit_from = UnitFrom::option;
  }
  return result;
}

Problem too_many_triangles(const Job& job) {
  return fail(
      Code::too_large,
      fmt::format("{} has more than {} triangles", job.label, std::min(job.max_triangles, most_triangles)),
      "reduce the mesh, or raise the limit");
}
Problem no_triangles(const Job& job, std::string_view instead) {
  return fail(Code::no_triangles, fmt::format("{} has no triangles: {}", job.label, instead),
              "export the surface of the model as a mesh with faces");
}
Problem cut_off(const Job& job, std::string what) {
  return fail(Code::file_truncated, fmt::format("{} is cut off: {}", job.label, what),
              "copy or download the file again, or export it again");
}
Problem bad_index(const Job& job, const std::string& place, std::int64_t index, std::uint64_t vertices) {
  return fail(Code::index_out_of_range,
              fmt::format("{}, {}: the face uses vertex {}, but there are {} vertices", job.label, place,
                          index, vertices),
              "the file is damaged or was written wrongly; export it again");
}
Problem not_finite(const Job& job, const std::string& place) {
  return fail(Code::coordinate_not_finite,
              fmt::format("{}, {}: a coordinate is not a finite number", job.label, place),
              "repair the mesh in the program that made it and export it again");
}

void note(Notes& notes, std::string code, std::string text, bool warning) {
  notes.push_back({std::move(code), std::move(text), warning});
}

void FaceCollector::face(std::span<const Index> corners) {
  if (corners.size() == 3) return triangle(corners[0], corners[1], corners[2]);
  if (corners.size() < 3) {
    ++skipped_;
    return;
  }
  ++polygons_;
  if (std::all_of(corners.begin(), corners.end(), [this](Index v) { return v < vertices.size(); }))
    return cut(corners);
  waiting_corners_.insert(waiting_corners_.end(), corners.begin(), corners.end());
  waiting_sizes_.push_back(static_cast<Index>(corners.size()));
}

void FaceCollector::cut(std::span<const Index> corners) {
  if (triangles_.size() + corners.size() > most_ + 2 || too_costly_) {
    full_ = full_ || !too_costly_;
    return;
  }
  switch (cutter_.cut(corners, vertices, triangles_)) {
    case PolygonCutter::Outcome::cut:
      break;
    case PolygonCutter::Outcome::forced:
      ++forced_;
      break;
    case PolygonCutter::Outcome::nothing:
      ++skipped_;
      break;
    case PolygonCutter::Outcome::too_costly:
      too_costly_ = true;
      break;
  }
}

Expected<MeshFile> FaceCollector::finish(MeshFile result, double scale) && {
  if (full()) return too_many_triangles(job_);
  const Index* corner = waiting_corners_.data();
  for (const Index n : waiting_sizes_) {
    cut({corner, n});
    corner += n;
  }
  if (too_costly_)
    return fail(Code::too_large, fmt::format("{} has faces too intricate to cut into triangles", job_.label),
                "let the exporting program triangulate the faces");
  if (full()) return too_many_triangles(job_);
  if (triangles_.empty())
    return no_triangles(job_, vertices.empty() ? "it is empty"
                              : skipped_ > 0   ? "every face has fewer than three corners"
                                               : "it has points but no faces");
  if (scale != 1)
    for (Vec3& v : vertices) {
      v *= scale;
      if (!v.allFinite()) return not_finite(job_, "converted to millimetres");
    }
  weld_in_place(vertices, triangles_);
  result.soup.vertices = std::move(vertices);
  result.soup.triangles = std::move(triangles_);
  result.polygons = polygons_;
  if (polygons_ > 0)
    note(result.notes, "polygons-triangulated",
         fmt::format("{} faces with more than three corners were cut into triangles", polygons_));
  if (forced_ > 0)
    note(result.notes, "polygons-crossed",
         fmt::format("{} of them cross themselves or enclose nothing; their triangles are a guess", forced_),
         true);
  if (skipped_ > 0)
    note(result.notes, "faces-skipped",
         fmt::format("{} faces with fewer than three corners were left out", skipped_));
  return result;
}

}  // namespace pourwright::intake
