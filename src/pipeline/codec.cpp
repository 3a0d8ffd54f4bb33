// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/codec.hpp"

#include <cstring>
#include <type_traits>

namespace pourwright::codec {
namespace {

template <class T, class U>
concept Is = std::is_same_v<std::remove_const_t<T>, U>;

// Every `pass` names the members of its struct by a structured binding: one that is added does not compile
// until it has been thought of here.

template <class Bytes, Is<Reason> T>
void pass(Bytes& b, T& r) {
  auto& [text, share] = r;
  b(text, share);
}
template <class Bytes, class T>
requires Is<T, Interval<Volume>>
void pass(Bytes& b, T& v) {
  auto& [value, low, high, reasons] = v;
  b(value, low, high, reasons);
}
template <class Bytes, Is<Note> T>
void pass(Bytes& b, T& n) {
  auto& [code, text, warning] = n;
  b(code, text, warning);
}
template <class Bytes, Is<Problem> T>
void pass(Bytes& b, T& p) {
  auto& [code, text, hint] = p;
  b(code, text, hint);
}
template <class Bytes, Is<CavityRow::Trap> T>
void pass(Bytes& b, T& t) {
  auto& [volume, lip, vent, vent_length, tops] = t;
  b(volume, lip, vent, vent_length, tops);
}
template <class Bytes, Is<CavityRow::Mark> T>
void pass(Bytes& b, T& m) {
  auto& [share, level, volume, surface] = m;
  b(share, level, volume, surface);
}
template <class Bytes, Is<CavityRow> T>
void pass(Bytes& b, T& c) {
  auto& [id, parent, kind, filled, capacity, brim, floor, opening, air_traps, usable, fill_table, level] = c;
  b(id, parent, kind, filled, capacity, brim, floor, opening, air_traps, usable, fill_table, level);
}
template <class Bytes, Is<DrainRow> T>
void pass(Bytes& b, T& d) {
  auto& [kind, would_hold, throat, at] = d;
  b(kind, would_hold, throat, at);
}
template <class Bytes, Is<TiltRow> T>
void pass(Bytes& b, T& t) {
  auto& [degrees, azimuth_degrees, share] = t;
  b(degrees, azimuth_degrees, share);
}
template <class Bytes, Is<MendRow> T>
void pass(Bytes& b, T& m) {
  auto& [code, count, volume_change] = m;
  b(code, count, volume_change);
}
template <class Bytes, Is<MeasureRow::Body> T>
void pass(Bytes& b, T& body) {
  auto& [volume, area] = body;
  b(volume, area);
}
template <class Bytes, Is<MeasureRow::Overhead> T>
void pass(Bytes& b, T& o) {
  auto& [angle_degrees, area, share] = o;
  b(angle_degrees, area, share);
}
template <class Bytes, Is<MeasureRow> T>
void pass(Bytes& b, T& r) {
  auto& [path, unit, unit_from, triangles, shells, closed, read_as, up, bounds, solid, cavities, fill, drains,
         ceiling, tilt, mended, notes, error] = r;
  b(path, unit, unit_from, triangles, shells, closed, read_as, up, bounds, solid, cavities, fill, drains,
    ceiling, tilt, mended, notes, error);
}
// What the mix makes of a spot is no part of what was measured.
template <class Bytes, Is<SpotRow> T>
void pass(Bytes& b, T& s) {
  auto& [kind, thickness, typical, at, end, normal, outward, reach, width, span, area, stress, margin, risk,
         feather, wait_until, thicken_to, help] = s;
  b(kind, thickness, typical, at, end, normal, outward, reach, width, span, area);
}
template <class Bytes, Is<WallsRow> T>
void pass(Bytes& b, T& w) {
  auto& [of, samples, samples_per_mm2, min, p05, median, ray_min, ray_median, min_at, limit, limit_from,
         thin_area, thin_share, histogram_step, histogram, spots] = w;
  b(of, samples, samples_per_mm2, min, p05, median, ray_min, ray_median, min_at, limit, limit_from, thin_area,
    thin_share, histogram_step, histogram, spots);
}
template <class Bytes, Is<UndercutRow> T>
void pass(Bytes& b, T& u) {
  auto& [area, depth, at, stretch] = u;
  b(area, depth, at, stretch);
}
template <class Bytes, Is<ReleaseRow::TwoParts> T>
void pass(Bytes& b, T& p) {
  auto& [axis, undercut, share] = p;
  b(axis, undercut, share);
}
template <class Bytes, Is<ReleaseRow> T>
void pass(Bytes& b, T& r) {
  auto& [pull, opening, opening_area, wall, undercut, share, depth, min_draft_degrees, min_draft_at, places,
         best_pull, best_undercut, best_min_draft_degrees, best_is_turned, leaves_rigid, leaves_flexible,
         stretch, parting] = r;
  b(pull, opening, opening_area, wall, undercut, share, depth, min_draft_degrees, min_draft_at, places,
    best_pull, best_undercut, best_min_draft_degrees, best_is_turned, leaves_rigid, leaves_flexible, stretch,
    parting);
}
template <class Bytes, Is<Inspection> T>
void pass(Bytes& b, T& i) {
  auto& [limit, of_mold, pull, stretch, in_short] = i;
  b(limit, of_mold, pull, stretch, in_short);
}
template <class Bytes, Is<Measured> T>
void pass(Bytes& b, T& m) {
  auto& [row, fill, body, mesh, pieces, levels, walls, release, would_hold, cavities_filled, deepest] = m;
  b(row, fill, body, walls, release, would_hold, cavities_filled, deepest);
}
template <class Bytes, Is<MeasureSettings> T>
void pass(Bytes& b, T& s) {
  auto& [unit, more_formats, read_as, up, find_up, known, tilts, find_lean, tilt_limit, fill, fill_to, dips,
         only, close_holes, gap, max_uncertainty, keep_mesh, without_air, inspection, quick, jobs, cache,
         program, limits, progress] = s;
  b(unit, more_formats, read_as, up, find_up, known, tilts, find_lean, tilt_limit, fill, fill_to, dips, only,
    close_holes, gap, max_uncertainty, inspection, quick, program);
}

template <class T>
constexpr bool plain = std::is_arithmetic_v<T> || std::is_enum_v<T>;

class Writer {
 public:
  template <class... T>
  void operator()(const T&... values) {
    (put(values), ...);
  }
  std::string take() { return std::move(out_); }

 private:
  template <class T>
  void put(const T& v) {
    if constexpr (plain<T>)
      out_.append(reinterpret_cast<const char*>(&v), sizeof v);
    else
      pass(*this, v);
  }
  template <class K>
  void put(const Quantity<K>& q) {
    put(q.base());
  }
  void put(const std::string& s) {
    put(s.size());
    out_ += s;
  }
  template <class T>
  void put(const std::optional<T>& o) {
    put(o.has_value());
    if (o) put(*o);
  }
  template <class T>
  void put(const std::vector<T>& list) {
    put(list.size());
    for (const T& v : list) put(v);
  }
  template <class T, std::size_t N>
  void put(const std::array<T, N>& list) {
    for (const T& v : list) put(v);
  }

  std::string out_;
};

class Reader {
 public:
  explicit Reader(std::string_view in) : in_(in) {}
  template <class... T>
  void operator()(T&... values) {
    (get(values), ...);
  }
  bool finished() const { return good_ && in_.empty(); }

 private:
  const char* next(std::size_t n) {
    if (!good_ || n > in_.size()) {
      good_ = false;
      return nullptr;
    }
    const char* const at = in_.data();
    in_.remove_prefix(n);
    return at;
  }
  template <class T>
  void get(T& v) {
    if constexpr (std::is_same_v<T, bool>) {
      const char* const at = next(1);
      v = at != nullptr && *at != 0;
    } else if constexpr (plain<T>) {
      if (const char* const at = next(sizeof v)) std::memcpy(&v, at, sizeof v);
    } else {
      pass(*this, v);
    }
  }
  template <class K>
  void get(Quantity<K>& q) {
    double base = 0;
    get(base);
    q = Quantity<K>(base);
  }
  /// No element takes less than a byte.
  std::size_t size() {
    std::size_t n = 0;
    get(n);
    if (n > in_.size()) good_ = false;
    return good_ ? n : 0;
  }
  void get(std::string& s) {
    const std::size_t n = size();
    if (const char* const at = next(n)) s.assign(at, n);
  }
  template <class T>
  void get(std::optional<T>& o) {
    bool there = false;
    get(there);
    if (there) get(o.emplace());
  }
  template <class T>
  void get(std::vector<T>& list) {
    const std::size_t n = size();
    list.clear();
    for (std::size_t i = 0; i < n && good_; ++i) get(list.emplace_back());
  }
  template <class T, std::size_t N>
  void get(std::array<T, N>& list) {
    for (T& v : list) get(v);
  }

  std::string_view in_;
  bool good_ = true;
};

}  // namespace

std::string bytes_of(const Measured& measured) {
  Writer out;
  out(measured);
  return out.take();
}

std::optional<Measured> measured_from(std::string_view bytes) {
  Reader in(bytes);
  Measured out;
  in(out);
  if (!in.finished()) return std::nullopt;
  return out;
}

std::string bytes_of(const MeasureSettings& settings) {
  Writer out;
  out(settings);
  return out.take();
}

}  // namespace pourwright::codec
