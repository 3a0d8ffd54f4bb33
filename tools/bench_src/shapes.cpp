// SPDX-License-Identifier: GPL-3.0-or-later
// Molds of any number of triangles for the benchmark, whose volume does not depend on how finely they are
// divided, and the binary STL files that hold them.
#include "shapes.hpp"

#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <memory>
#include <numbers>

namespace bench {
namespace {

constexpr double turn = 2 * std::numbers::pi;

/// Two triangles for each cell of a grid that closes on itself in the second direction.
void add_cell(Mesh& m, std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) {
  m.triangles.push_back({a, b, c});
  m.triangles.push_back({a, c, d});
}

Mesh torus(std::size_t triangles) {
  const auto minor = static_cast<std::uint32_t>(std::sqrt(static_cast<double>(triangles) / 4));
  const std::uint32_t major = 2 * minor;
  Mesh m;
  for (std::uint32_t i = 0; i < major; ++i)
    for (std::uint32_t j = 0; j < minor; ++j) {
      const double u = turn * i / major, v = turn * j / minor;
      const double r = 20 + 1.5 * std::sin(7 * u) * std::cos(3 * v) + 0.6 * std::sin(23 * u + 11 * v);
      const double s = 60 + r * std::cos(v);
      m.vertices.push_back({static_cast<float>(s * std::cos(u)), static_cast<float>(s * std::sin(u)),
                            static_cast<float>(r * std::sin(v))});
    }
  for (std::uint32_t i = 0; i < major; ++i)
    for (std::uint32_t j = 0; j < minor; ++j) {
      const std::uint32_t i1 = (i + 1) % major, j1 = (j + 1) % minor;
      add_cell(m, i * minor + j, i1 * minor + j, i1 * minor + j1, i * minor + j1);
    }
  return m;
}

struct Ring {
  double radius, height;
};

/// Outside from below up to the rim, then down the inside: `count` rings at even steps along the profile.
std::vector<Ring> bowl_profile(std::size_t count) {
  const std::array<Ring, 5> corners{{{45, 0}, {72, 40}, {76, 55}, {70, 55}, {40, 6}}};
  std::array<double, 5> at{};
  for (std::size_t k = 1; k < corners.size(); ++k)
    at[k] = at[k - 1] +
            std::hypot(corners[k].radius - corners[k - 1].radius, corners[k].height - corners[k - 1].height);
  std::vector<Ring> rings;
  std::size_t k = 1;
  for (std::size_t i = 0; i < count; ++i) {
    const double s = at.back() * static_cast<double>(i) / static_cast<double>(count - 1);
    while (k + 1 < corners.size() && s > at[k]) ++k;
    const double t = std::min(1.0, (s - at[k - 1]) / (at[k] - at[k - 1]));
    rings.push_back({std::lerp(corners[k - 1].radius, corners[k].radius, t),
                     std::lerp(corners[k - 1].height, corners[k].height, t)});
  }
  return rings;
}

Mesh bowl(std::size_t triangles, double wave) {
  const auto count = static_cast<std::uint32_t>(std::sqrt(static_cast<double>(triangles) / 4));
  const std::uint32_t around = 2 * count;
  const std::vector<Ring> rings = bowl_profile(count);
  Mesh m;
  for (std::uint32_t i = 0; i < count; ++i)
    for (std::uint32_t j = 0; j < around; ++j) {
      const double a = turn * j / around;
      // Only on the wall inside, below the rim, so that inside and outside never meet.
      const double along = (static_cast<double>(i) / count - 0.56) / 0.44;
      const double w =
          along <= 0 ? 0 : wave * std::sin(turn / 2 * along) * std::sin(60 * a) * std::sin(turn * 18 * along);
      const double r = rings[i].radius + w;
      m.vertices.push_back({static_cast<float>(r * std::cos(a)), static_cast<float>(r * std::sin(a)),
                            static_cast<float>(rings[i].height + w)});
    }
  for (std::uint32_t i = 0; i + 1 < count; ++i)
    for (std::uint32_t j = 0; j < around; ++j) {
      const std::uint32_t j1 = (j + 1) % around;
      add_cell(m, i * around + j, i * around + j1, (i + 1) * around + j1, (i + 1) * around + j);
    }
  // A fan closes the underside, another the floor inside.
  const auto below = static_cast<std::uint32_t>(m.vertices.size()), floor = below + 1;
  m.vertices.push_back({0, 0, 0});
  m.vertices.push_back({0, 0, static_cast<float>(rings.back().height)});
  for (std::uint32_t j = 0; j < around; ++j) {
    const std::uint32_t j1 = (j + 1) % around, last = (count - 1) * around;
    m.triangles.push_back({below, j1, j});
    m.triangles.push_back({floor, last + j, last + j1});
  }
  return m;
}

Mesh box() {
  Mesh m;
  for (int k = 0; k < 8; ++k)
    m.vertices.push_back({k & 1 ? 60.0F : 0.0F, k & 2 ? 40.0F : 0.0F, k & 4 ? 20.0F : 0.0F});
  add_cell(m, 0, 2, 3, 1);
  add_cell(m, 4, 5, 7, 6);
  add_cell(m, 0, 1, 5, 4);
  add_cell(m, 2, 6, 7, 3);
  add_cell(m, 0, 4, 6, 2);
  add_cell(m, 1, 3, 7, 5);
  return m;
}

struct Closer {
  void operator()(std::FILE* f) const { std::fclose(f); }
};
class Output {
 public:
  explicit Output(const std::string& path) : file_(std::fopen(path.c_str(), "wb")) {}
  bool finish() {
    flush();
    return good_ && file_ != nullptr && std::fflush(file_.get()) == 0;
  }
  Output& operator<<(std::string_view s) {
    buffer_ += s;
    if (buffer_.size() > (1U << 20)) flush();
    return *this;
  }
  Output& operator<<(float x) { return number(x); }
  Output& operator<<(std::uint32_t n) { return number(n); }
  /// The bytes of a value; every machine this runs on is little-endian.
  template <class T>
  Output& raw(const T& x) {
    return *this << std::string_view(reinterpret_cast<const char*>(&x), sizeof x);
  }

 private:
  template <class T>
  Output& number(T x) {
    std::array<char, 32> text;
    return *this << std::string_view(text.data(),
                                     std::to_chars(text.data(), text.data() + text.size(), x).ptr);
  }
  void flush() {
    good_ = good_ && file_ != nullptr &&
            std::fwrite(buffer_.data(), 1, buffer_.size(), file_.get()) == buffer_.size();
    buffer_.clear();
  }
  std::unique_ptr<std::FILE, Closer> file_;
  std::string buffer_;
  bool good_ = true;
};

void write_stl(const Mesh& m, Output& out) {
  out << std::string(80, ' ');
  out.raw(static_cast<std::uint32_t>(m.triangles.size()));
  for (const auto& t : m.triangles) {
    out.raw(std::array<float, 3>{});
    for (const auto v : t) out.raw(m.vertices[v]);
    out.raw(std::uint16_t{0});
  }
}

void write_ascii_stl(const Mesh& m, Output& out) {
  out << "solid bench\n";
  for (const auto& t : m.triangles) {
    out << "facet normal 0 0 0\n outer loop\n";
    for (const auto v : t)
      out << "  vertex " << m.vertices[v][0] << " " << m.vertices[v][1] << " " << m.vertices[v][2] << "\n";
    out << " endloop\nendfacet\n";
  }
  out << "endsolid bench\n";
}

void write_obj(const Mesh& m, Output& out) {
  for (const auto& v : m.vertices) out << "v " << v[0] << " " << v[1] << " " << v[2] << "\n";
  for (const auto& t : m.triangles) out << "f " << t[0] + 1 << " " << t[1] + 1 << " " << t[2] + 1 << "\n";
}

void write_ply(const Mesh& m, Output& out) {
  out << "ply\nformat binary_little_endian 1.0\nelement vertex "
      << static_cast<std::uint32_t>(m.vertices.size())
      << "\nproperty float x\nproperty float y\nproperty float z\nelement face "
      << static_cast<std::uint32_t>(m.triangles.size())
      << "\nproperty list uchar uint vertex_indices\nend_header\n";
  for (const auto& v : m.vertices) out.raw(v);
  for (const auto& t : m.triangles) out.raw(std::uint8_t{3}).raw(t);
}

}  // namespace

Mesh make(const std::string& shape, std::size_t triangles) {
  if (shape == "torus") return torus(triangles);
  if (shape == "bowl") return bowl(triangles, 0);
  if (shape == "wavy") return bowl(triangles, 0.4);
  if (shape == "box") return box();
  return {};
}

bool write(const Mesh& mesh, const std::string& path) {
  Output out(path);
  if (path.ends_with(".txt.stl"))
    write_ascii_stl(mesh, out);
  else if (path.ends_with(".stl"))
    write_stl(mesh, out);
  else if (path.ends_with(".obj"))
    write_obj(mesh, out);
  else if (path.ends_with(".ply"))
    write_ply(mesh, out);
  else
    return false;
  return out.finish();
}

}  // namespace bench
