// SPDX-License-Identifier: GPL-3.0-or-later
// The practical limit, a program of its own that links nothing: the least code that takes a well-formed file
// to the volume of a closed, oriented mesh. It detects no format, doubts no byte and explains nothing, so a
// careful reader cannot be as fast; the ratio to it says what the care costs.
//
//   pw_limit FILE     the format is taken from the name, as shapes.hpp chooses it
#include "cpu_time.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <fcntl.h>
#include <unistd.h>

namespace {

using bench::cpu_seconds;

/// 256 KB blocks by read(); what is left of a block moves to the front of the next.
class Blocks {
 public:
  explicit Blocks(const std::string& path) : fd_(open(path.c_str(), O_RDONLY)) { next(); }
  Blocks(const Blocks&) = delete;
  Blocks& operator=(const Blocks&) = delete;
  ~Blocks() { close(fd_); }
  /// False when nothing new came.
  bool next() {
    const auto kept = static_cast<std::size_t>(end - at);
    std::memmove(buffer_.get(), at, kept);
    std::size_t filled = kept;
    while (filled < size) {
      const ssize_t got = ::read(fd_, buffer_.get() + filled, size - filled);
      if (got <= 0) break;
      filled += static_cast<std::size_t>(got);
    }
    at = buffer_.get();
    end = at + filled;
    std::memset(buffer_.get() + filled, 0, 16);
    return filled > kept;
  }
  std::size_t have() const { return static_cast<std::size_t>(end - at); }

 private:
  static constexpr std::size_t size = std::size_t{256} << 10;
  int fd_;
  std::unique_ptr<char[]> buffer_ = std::make_unique_for_overwrite<char[]>(size + 16);

 public:
  const char* at = buffer_.get();
  const char* end = buffer_.get();
};

using Corner = std::array<float, 3>;
using Face = std::array<std::uint32_t, 3>;

struct Indexed {
  std::vector<Corner> vertices;
  std::vector<Face> faces;
};

/// Open addressing, at most half full, in batches so that the misses of a batch overlap.
class Weld {
 public:
  static constexpr std::size_t batch = 96;
  Weld(std::vector<Corner>& vertices, std::size_t expected)
      : vertices_(vertices), slots_(std::bit_ceil(2 * expected), empty), mask_(slots_.size() - 1) {
    vertices_.reserve(expected);
  }
  void add(Corner* c, std::size_t n, std::uint32_t* out) {
    if (2 * (vertices_.size() + n) > slots_.size()) grow();
    std::array<std::size_t, batch> h;
    for (std::size_t i = 0; i < n; ++i) {
      for (float& x : c[i]) x += 0.0F;  // −0 becomes +0
      h[i] = hash(c[i]) & mask_;
      __builtin_prefetch(&slots_[h[i]]);
    }
    for (std::size_t i = 0; i < n; ++i)
      if (slots_[h[i]] != empty) __builtin_prefetch(&vertices_[slots_[h[i]]]);
    for (std::size_t i = 0; i < n; ++i) {
      std::size_t k = h[i];
      while (slots_[k] != empty && vertices_[slots_[k]] != c[i]) k = (k + 1) & mask_;
      if (slots_[k] == empty) {
        slots_[k] = static_cast<std::uint32_t>(vertices_.size());
        vertices_.push_back(c[i]);
      }
      out[i] = slots_[k];
    }
  }

 private:
  static constexpr std::uint32_t empty = 0xFFFFFFFFu;
  static std::size_t hash(const Corner& c) {
    const std::uint64_t x = std::bit_cast<std::uint32_t>(c[0]), y = std::bit_cast<std::uint32_t>(c[1]),
                        z = std::bit_cast<std::uint32_t>(c[2]);
    std::uint64_t h = (x << 32 | y) * 0x9E3779B97F4A7C15u;
    h = (h ^ h >> 32 ^ z) * 0xD6E8FEB86659FD93u;
    return h ^ h >> 32;
  }
  void grow() {
    slots_.assign(2 * slots_.size(), empty);
    mask_ = slots_.size() - 1;
    for (std::uint32_t i = 0; i < vertices_.size(); ++i) {
      std::size_t k = hash(vertices_[i]) & mask_;
      while (slots_[k] != empty) k = (k + 1) & mask_;
      slots_[k] = i;
    }
  }
  std::vector<Corner>& vertices_;
  std::vector<std::uint32_t> slots_;
  std::size_t mask_;
};

template <class T>
T value_at(const char* p) {
  T x;
  std::memcpy(&x, p, sizeof x);
  return x;
}

Indexed read_stl(Blocks& in) {
  Indexed m;
  const std::size_t n = value_at<std::uint32_t>(in.at + 80);
  in.at += 84;
  m.faces.reserve(n);
  Weld weld(m.vertices, n / 2 + 16);
  std::array<Corner, Weld::batch> corners;
  while (m.faces.size() < n) {
    if (in.have() < 50 && !in.next()) break;
    const std::size_t k = std::min({Weld::batch / 3, in.have() / 50, n - m.faces.size()});
    for (std::size_t i = 0; i < k; ++i) std::memcpy(&corners[3 * i], in.at + 50 * i + 12, 36);
    m.faces.resize(m.faces.size() + k);
    weld.add(corners.data(), 3 * k, m.faces[m.faces.size() - k].data());
    in.at += 50 * k;
  }
  return m;
}

/// Digits, a point, an exponent; exact for the short decimals that programs write.
double number(const char*& p) {
  static constexpr std::array<double, 23> tens{1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                               1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                               1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  while (*p == ' ') ++p;
  const bool minus = *p == '-';
  if (minus) ++p;
  std::int64_t digits = 0;
  int scale = 0;
  for (; static_cast<unsigned>(*p - '0') < 10; ++p) digits = 10 * digits + (*p - '0');
  if (*p == '.')
    for (++p; static_cast<unsigned>(*p - '0') < 10; ++p, --scale) digits = 10 * digits + (*p - '0');
  if (*p == 'e') {
    ++p;
    const bool down = *p == '-';
    if (*p == '-' || *p == '+') ++p;
    int e = 0;
    for (; static_cast<unsigned>(*p - '0') < 10; ++p) e = 10 * e + (*p - '0');
    scale += down ? -e : e;
  }
  double x = static_cast<double>(digits);
  for (; scale < -22; scale += 22) x /= 1e22;
  x = scale < 0 ? x / tens[static_cast<std::size_t>(-scale)] : x * tens[static_cast<std::size_t>(scale)];
  return minus ? -x : x;
}

Corner corner(const char*& p) {
  Corner c;
  for (float& x : c) x = static_cast<float>(number(p));
  return c;
}

/// Calls `line` with each line that is whole in the block.
template <class Line>
void for_each_line(Blocks& in, Line line) {
  do {
    while (const void* stop = std::memchr(in.at, '\n', in.have())) {
      line(in.at);
      in.at = static_cast<const char*>(stop) + 1;
    }
  } while (in.next());
}

Indexed read_ascii_stl(Blocks& in) {
  Indexed m;
  Weld weld(m.vertices, 1024);
  std::array<Corner, Weld::batch> corners;
  std::array<std::uint32_t, Weld::batch> index;
  std::size_t k = 0;
  const auto flush = [&] {
    weld.add(corners.data(), k, index.data());
    for (std::size_t i = 0; i + 2 < k; i += 3) m.faces.push_back({index[i], index[i + 1], index[i + 2]});
    k = 0;
  };
  for_each_line(in, [&](const char* p) {
    while (*p == ' ') ++p;
    if (*p != 'v') return;
    p += 6;
    corners[k] = corner(p);
    if (++k == Weld::batch) flush();
  });
  flush();
  return m;
}

Indexed read_obj(Blocks& in) {
  Indexed m;
  for_each_line(in, [&](const char* p) {
    if (*p == 'v') {
      m.vertices.push_back(corner(++p));
    } else if (*p == 'f') {
      Face f;
      ++p;
      for (std::uint32_t& v : f) {
        std::uint32_t n = 0;
        for (++p; static_cast<unsigned>(*p - '0') < 10; ++p)
          n = 10 * n + static_cast<std::uint32_t>(*p - '0');
        v = n - 1;
      }
      m.faces.push_back(f);
    }
  });
  return m;
}

Indexed read_ply(Blocks& in) {
  Indexed m;
  const std::string_view head(in.at, in.have());
  const auto count = [&](std::string_view element) {
    const char* p = in.at + head.find(element) + element.size();
    return static_cast<std::size_t>(number(p));
  };
  const std::size_t vertices = count("element vertex"), faces = count("element face");
  in.at += head.find("end_header\n") + 11;
  m.vertices.reserve(vertices);
  while (m.vertices.size() < vertices) {
    if (in.have() < 12 && !in.next()) break;
    const std::size_t k = std::min(in.have() / 12, vertices - m.vertices.size());
    m.vertices.resize(m.vertices.size() + k);
    std::memcpy(&m.vertices[m.vertices.size() - k], in.at, 12 * k);
    in.at += 12 * k;
  }
  m.faces.reserve(faces);
  while (m.faces.size() < faces) {
    if (in.have() < 13 && !in.next()) break;
    for (std::size_t k = std::min(in.have() / 13, faces - m.faces.size()); k > 0; --k, in.at += 13)
      m.faces.push_back(value_at<Face>(in.at + 1));
  }
  return m;
}

/// Half-edges gathered at their lower vertex; there each must meet exactly one that runs the other way.
bool closed_and_oriented(const Indexed& m) {
  std::vector<std::uint32_t> start(m.vertices.size() + 2, 0);
  for (const Face& f : m.faces)
    for (std::size_t k = 0; k < 3; ++k) ++start[std::min(f[k], f[k == 2 ? 0 : k + 1]) + 2];
  for (std::size_t v = 2; v < start.size(); ++v) start[v] += start[v - 1];
  const auto ends = std::make_unique_for_overwrite<std::uint32_t[]>(3 * m.faces.size());
  for (const Face& f : m.faces)
    for (std::size_t k = 0; k < 3; ++k) {
      const std::uint32_t a = f[k], b = f[k == 2 ? 0 : k + 1];
      ends[start[std::min(a, b) + 1]++] = a < b ? 2 * b : 2 * a + 1;
    }
  for (std::size_t v = 0; v < m.vertices.size(); ++v) {
    std::uint32_t* const first = ends.get() + start[v];
    std::uint32_t* const last = ends.get() + start[v + 1];
    for (std::uint32_t* i = first; i < last; ++i)
      for (std::uint32_t* j = i; j > first && j[-1] > *j; --j) std::swap(j[-1], *j);
    if ((last - first) % 2 != 0) return false;
    for (std::uint32_t* i = first; i < last; i += 2)
      if ((*i & 1) != 0 || i[1] != *i + 1 || (i + 2 < last && i[2] == *i)) return false;
  }
  return true;
}

double volume_of(const Indexed& m) {
  double sum = 0;
  const auto wide = [&](std::uint32_t v) {
    const Corner& c = m.vertices[v];
    return std::array<double, 3>{c[0], c[1], c[2]};
  };
  for (const Face& f : m.faces) {
    const auto p = wide(f[0]), q = wide(f[1]), r = wide(f[2]);
    sum += p[0] * (q[1] * r[2] - q[2] * r[1]) + p[1] * (q[2] * r[0] - q[0] * r[2]) +
           p[2] * (q[0] * r[1] - q[1] * r[0]);
  }
  return sum / 6;
}

Indexed read(const std::string& path) {
  Blocks in(path);
  if (path.ends_with(".txt.stl")) return read_ascii_stl(in);
  if (path.ends_with(".obj")) return read_obj(in);
  if (path.ends_with(".ply")) return read_ply(in);
  return read_stl(in);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  const double t0 = cpu_seconds();
  const Indexed m = read(argv[1]);
  const double t1 = cpu_seconds();
  const bool closed = closed_and_oriented(m);
  const double t2 = cpu_seconds();
  const double volume = volume_of(m);
  const double t3 = cpu_seconds();
  std::printf(
      "{\"triangles\":%zu,\"vertices\":%zu,\"closed\":%s,\"volume_mm3\":%.17g,"
      "\"read_s\":%.6f,\"topology_s\":%.6f,\"volume_s\":%.6f}\n",
      m.faces.size(), m.vertices.size(), closed ? "true" : "false", volume, t1 - t0, t2 - t1, t3 - t2);
}
