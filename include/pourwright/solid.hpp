// SPDX-License-Identifier: GPL-3.0-or-later
// What a surface encloses, in types that say what was proven of it. A ClosedBody is closed and faces outward
// everywhere. A Solid is one that was also proven not to cut or touch itself, so its volume has one meaning.
// An OpenSurface is a scan with a real rim, which can hold liquid but has no volume; a ProvenOpenSurface is
// one that does not cut or touch itself. The stronger type may stand wherever the weaker is asked for;
// nothing but the proof makes it.
#pragma once

#include <pourwright/mesh.hpp>

#include <span>
#include <utility>
#include <variant>
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

/// Whether it is known that a surface does not cut or touch itself: said in answers about bodies of either
/// kind.
enum class SelfOverlap : std::uint8_t {
  excluded,     ///< proven not to be there
  not_checked,  ///< volumes count what lies twice as often as it lies there
};

/// Closed and facing outward: made by `take_closed`. Where it overlaps itself, what lies there twice is
/// counted twice.
class ClosedBody {
 public:
  static constexpr SelfOverlap overlap = SelfOverlap::not_checked;  ///< what this type says

  const std::vector<Vec3>& vertices() const { return vertices_; }
  /// Outward facing; redundant shells are left out.
  const std::vector<Triangle>& triangles() const { return triangles_; }
  const Box& box() const { return box_; }
  const std::vector<Shell>& shells() const { return shells_; }

  Interval<Volume> volume() const;  ///< of the material; the interval is rounding only
  Area area() const { return square_millimetres(measures_.area); }  ///< hollows included
  Vec3 centroid() const { return measures_.centroid; }

 private:
  friend struct SolidBuilder;
  ClosedBody() = default;
  std::vector<Vec3> vertices_;
  std::vector<Triangle> triangles_;
  Box box_;
  std::vector<Shell> shells_;
  Measures measures_;
};

/// A closed body that was proven not to cut or touch itself: made by `prove_solid` and by nothing else.
class Solid : public ClosedBody {
 public:
  static constexpr SelfOverlap overlap = SelfOverlap::excluded;

 private:
  friend struct SolidBuilder;
  explicit Solid(ClosedBody body) : ClosedBody(std::move(body)) {}
};

/// One of the two, where only the run of the program tells which.
using AnyBody = std::variant<Solid, ClosedBody>;
inline const ClosedBody& as_closed(const AnyBody& body) {
  return std::visit([](const ClosedBody& b) -> const ClosedBody& { return b; }, body);
}

struct ClosedBodyResult {
  ClosedBody body;
  Notes notes;  ///< turned shells, hollows, bodies inside bodies, non-manifold edges
};
struct SolidResult {
  Solid solid;
  Notes notes;  ///< the same
};

/// Takes a surface for a closed body, turning inverted shells, or says what is wrong, where, and what to do.
/// Edges with more than two triangles are allowed when as many run one way as the other. Whether the surface
/// overlaps itself is not asked. O(n).
Expected<ClosedBodyResult> take_closed(Surface surface);

/// The same for a surface that is proven not to cut or touch itself. O(n log n).
Expected<SolidResult> prove_solid(Surface surface);

/// A surface whose open border is a real rim: made by `take_open_surface`.
class OpenSurface {
 public:
  static constexpr SelfOverlap overlap = SelfOverlap::not_checked;  ///< what this type says

  const std::vector<Vec3>& vertices() const { return vertices_; }
  const std::vector<Triangle>& triangles() const { return triangles_; }
  const Box& box() const { return box_; }

 private:
  friend struct SolidBuilder;
  OpenSurface() = default;
  std::vector<Vec3> vertices_;
  std::vector<Triangle> triangles_;
  Box box_;
};

/// One that was proven not to cut or touch itself: made by `prove_open_surface` and by nothing else.
class ProvenOpenSurface : public OpenSurface {
 public:
  static constexpr SelfOverlap overlap = SelfOverlap::excluded;

 private:
  friend struct SolidBuilder;
  explicit ProvenOpenSurface(OpenSurface surface) : OpenSurface(std::move(surface)) {}
};

/// One of the two, where only the run of the program tells which.
using AnyOpenSurface = std::variant<ProvenOpenSurface, OpenSurface>;
inline const OpenSurface& as_open(const AnyOpenSurface& surface) {
  return std::visit([](const OpenSurface& s) -> const OpenSurface& { return s; }, surface);
}

struct OpenSurfaceResult {
  OpenSurface surface;
  Notes notes;
};
struct ProvenOpenSurfaceResult {
  ProvenOpenSurface surface;
  Notes notes;
};

/// Accepts a clean scan: consistently oriented, edge-manifold, one component with one border loop that goes
/// round the piece as seen along `up` (any length but zero). The surface is turned so that its liquid side
/// faces up. Whether it overlaps itself is not asked. O(n).
Expected<OpenSurfaceResult> take_open_surface(Surface surface, const Vec3& up);

/// The same for a surface that is proven not to cut or touch itself. O(n log n).
Expected<ProvenOpenSurfaceResult> prove_open_surface(Surface surface, const Vec3& up);

}  // namespace pourwright
