// SPDX-License-Identifier: GPL-3.0-or-later
// A measured file as bytes and back. Reading trusts no count: what the bytes do not hold is refused, because
// a child that was ended may have sent half.
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
  auto& [code, text, warning, topic, brief] = n;
  b(code, text, warning, topic, brief);
}
template <class Bytes, Is<Problem> T>
void pass(Bytes& b, T& p) {
  auto& [code, text, hint] = p;
  b(code, text, hint);
}
template <class Bytes, Is<AirTrap> T>
void pass(Bytes& b, T& v) {
  auto& [volume, lip, vent, vent_length, tops] = v;
  b(volume, lip, vent, vent_length, tops);
}
template <class Bytes, Is<FillMark> T>
void pass(Bytes& b, T& v) {
  auto& [share, level, volume, surface] = v;
  b(share, level, volume, surface);
}
template <class Bytes, Is<Cavity> T>
void pass(Bytes& b, T& v) {
  auto& [id, parent, kind, filled, capacity, brim, floor, opening, brim_at, floor_at, typical_rim, air_traps,
         usable, residual, fill_table, level] = v;
  b(id, parent, kind, filled, capacity, brim, floor, opening, brim_at, floor_at, typical_rim, air_traps,
    usable, residual, fill_table, level);
}
template <class Bytes, Is<Drain> T>
void pass(Bytes& b, T& v) {
  auto& [kind, would_hold, throat, at, holds, cavity] = v;
  b(kind, would_hold, throat, at, holds, cavity);
}
template <class Bytes, Is<TiltLoss> T>
void pass(Bytes& b, T& v) {
  auto& [degrees, azimuth_degrees, share] = v;
  b(degrees, azimuth_degrees, share);
}
template <class Bytes, Is<Ceiling> T>
void pass(Bytes& b, T& v) {
  auto& [angle_degrees, area, share] = v;
  b(angle_degrees, area, share);
}
template <class Bytes, Is<Mended> T>
void pass(Bytes& b, T& v) {
  auto& [what, count, volume_change] = v;
  b(what, count, volume_change);
}
template <class Bytes, Is<Alternative> T>
void pass(Bytes& b, T& v) {
  auto& [about, says, option, fill] = v;
  b(about, says, option, fill);
}
template <class Bytes, class T>
requires Is<T, Decision<Reading>>
void pass(Bytes& b, T& v) {
  auto& [chosen, given, sure, doubt, why, others] = v;
  b(chosen, given, sure, doubt, why, others);
}
template <class Bytes, Is<MeasureRow::Body> T>
void pass(Bytes& b, T& v) {
  auto& [volume, area] = v;
  b(volume, area);
}
template <class Bytes, Is<MeasureRow> T>
void pass(Bytes& b, T& v) {
  auto& [path, unit, unit_from, triangles, shells, closed, reading, up, bounds, solid, cavities, fill, drains,
         ceiling, tilt, mended, doubt, notes, error] = v;
  b(path, unit, unit_from, triangles, shells, closed, reading, up, bounds, solid, cavities, fill, drains,
    ceiling, tilt, mended, doubt, notes, error);
}
template <class Bytes, Is<ThinSpot> T>
void pass(Bytes& b, T& v) {
  auto& [kind, thickness, typical, at_root, at, normal, end, outward, reach, width, span, area, samples] = v;
  b(kind, thickness, typical, at_root, at, normal, end, outward, reach, width, span, area, samples);
}
template <class Bytes, Is<Walls::Histogram> T>
void pass(Bytes& b, T& v) {
  auto& [step, share] = v;
  b(step, share);
}
template <class Bytes, Is<Walls> T>
void pass(Bytes& b, T& v) {
  auto& [of, samples, samples_per_mm2, min, p05, median, ray_min, ray_median, min_at, noise, histogram, limit,
         thin_area, thin_share, spots] = v;
  b(of, samples, samples_per_mm2, min, p05, median, ray_min, ray_median, min_at, noise, histogram, limit,
    thin_area, thin_share, spots);
}
template <class Bytes, Is<Undercut> T>
void pass(Bytes& b, T& v) {
  auto& [area, depth, at, lip, stretch] = v;
  b(area, depth, at, lip, stretch);
}
template <class Bytes, Is<Pull> T>
void pass(Bytes& b, T& v) {
  auto& [direction, undercut, share, depth, min_draft_degrees, min_draft_at, places] = v;
  b(direction, undercut, share, depth, min_draft_degrees, min_draft_at, places);
}
template <class Bytes, Is<Parting> T>
void pass(Bytes& b, T& v) {
  auto& [axis, undercut, share, samples] = v;
  b(axis, undercut, share, samples);
}
template <class Bytes, Is<Release> T>
void pass(Bytes& b, T& v) {
  auto& [opening, opening_area, wall, pull, best, best_is_turned, parting, leaves_rigid, leaves_flexible,
         stretch] = v;
  b(opening, opening_area, wall, pull, best, best_is_turned, parting, leaves_rigid, leaves_flexible, stretch);
}
template <class Bytes, Is<FillLevel> T>
void pass(Bytes& b, T& v) {
  auto& [kind, value] = v;
  b(kind, value);
}
template <class Bytes, Is<FillTo> T>
void pass(Bytes& b, T& v) {
  auto& [kind, ids] = v;
  b(kind, ids);
}
template <class Bytes, Is<CloseHoles> T>
void pass(Bytes& b, T& v) {
  auto& [which, size] = v;
  b(which, size);
}
template <class Bytes, Is<KnownSize> T>
void pass(Bytes& b, T& v) {
  auto& [kind, size, doubt, p, q, text] = v;
  b(kind, size, doubt, p, q, text);
}
template <class Bytes, Is<Inspection> T>
void pass(Bytes& b, T& i) {
  auto& [limit, of_mold, pull, stretch, in_short] = i;
  b(limit, of_mold, pull, stretch, in_short);
}
template <class Bytes, Is<Measured> T>
void pass(Bytes& b, T& m) {
  auto& [row, mesh, pieces, levels, walls, release, cavities_filled, deepest] = m;
  b(row, walls, release, cavities_filled, deepest);
}
template <class Bytes, Is<MeasureSettings> T>
void pass(Bytes& b, T& s) {
  auto& [unit, more_formats, read_as, up, up_given, find_up, level_rim, known, tilts, find_lean, tilt_limit, fill, fill_to, dips,
         only, close_holes, gap, max_uncertainty, keep_mesh, without_air, inspection, quick, jobs, cache,
         program, limits, progress] = s;
  b(unit, more_formats, read_as, up, up_given, find_up, level_rim, known, tilts, find_lean, tilt_limit, fill, fill_to, dips, only,
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
