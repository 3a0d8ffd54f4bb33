// SPDX-License-Identifier: GPL-3.0-or-later
// What a surface encloses. A Solid exists only for a closed, outward-facing surface that does not overlap
// itself, so its volume has one meaning; an OpenSurface is a scan with a real rim, which can hold liquid but
// has no volume.
#pragma once

#include <pourwright/mesh.hpp>

#include <span>
#include <vector>

namespace pourwright {

/// Integrals over a closed or open triangle list by the divergence theorem, about the centre of its box,
/// summed in fixed blocks with compensation: the same bits for any number of threads, and unaffected by where
/// the origin is.
struct Measures {
  double volume = 0;             ///< mm³, signed; a volume only when the triangles are closed and oriented
  double area = 0;               ///< mm²
  Vec3 centroid = Vec3::Zero();  ///< of the enclosed volume, mm
  double volume_error = 0;       ///< bound on the rounding error of `volume`, mm³
};
/// O(n). `centre` is any point near the mesh, normally the centre of its box.
Measures measure(const std::vector<Vec3>& vertices, std::span<const Triangle> triangles, const Vec3& centre);

enum class ShellRole : std::uint8_t {
  body,       ///< material inside, outward facing
  hollow,     ///< a closed void inside a body: not material
  redundant,  ///< a body wholly inside the material of another: already counted
};

/// One closed component of a solid.
struct Shell {
  std::size_t triangles = 0;
  Volume enclosed;      ///< always positive
  Index parent = none;  ///< smallest shell around it
  int depth = 0;        ///< how many shells lie around it
  ShellRole role = ShellRole::body;
  bool turned = false;  ///< faced the wrong way in the file and was turned
};

class Solid {
 public:
  const std::vector<Vec3>& vertices() const { return vertices_; }
  /// Outward facing; redundant shells are left out.
  const std::vector<Triangle>& triangles() const { return triangles_; }
  const Box& box() const { return box_; }
  const std::vector<Shell>& shells() const { return shells_; }

  Interval<Volume> volume() const;  ///< of the material; the interval is rounding only
  Area area() const { return square_millimetres(measures_.area); }  ///< hollows included
  Vec3 centroid() const { return measures_.centroid; }
  bool proven_free_of_overlap() const { return proven_; }

 private:
  friend struct SolidBuilder;
  std::vector<Vec3> vertices_;
  std::vector<Triangle> triangles_;
  Box box_;
  std::vector<Shell> shells_;
  Measures measures_;
  bool proven_ = false;
};

struct SolidOptions {
  bool prove_no_overlap = true;  ///< off: the caller says in a note that it was not proved
};

struct SolidResult {
  Solid solid;
  Notes notes;  ///< turned shells, hollows, bodies inside bodies, non-manifold edges
};

/// Proves a surface to be a solid, turning inverted shells, or says what is wrong, where, and what to do.
/// Edges with more than two triangles are allowed when as many run one way as the other.
/// O(n log n) with the overlap proof, O(n) without.
Expected<SolidResult> prove_solid(Surface surface, const SolidOptions& options = {});

/// A surface whose open border is a real rim.
class OpenSurface {
 public:
  const std::vector<Vec3>& vertices() const { return vertices_; }
  const std::vector<Triangle>& triangles() const { return triangles_; }
  const Box& box() const { return box_; }

 private:
  friend struct SolidBuilder;
  std::vector<Vec3> vertices_;
  std::vector<Triangle> triangles_;
  Box box_;
};

struct OpenSurfaceResult {
  OpenSurface surface;
  Notes notes;
};

/// Accepts a clean scan: consistently oriented, edge-manifold, one border loop per component that goes round
/// the piece as seen along `up`. The surface is turned so that its liquid side faces up. O(n).
Expected<OpenSurfaceResult> take_open_surface(Surface surface, const Vec3& up,
                                              const SolidOptions& options = {});

}  // namespace pourwright
