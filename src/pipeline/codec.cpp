// SPDX-License-Identifier: GPL-3.0-or-later
// A measured file as bytes and back. Reading trusts no count: what the bytes do not hold is refused, because
// a child that was ended may have sent half.
#include "pipeline/codec.hpp"

#include "pipeline/members.hpp"

#include <cstring>
#include <tuple>
#include <type_traits>

namespace pourwright::codec {
namespace {

template <class T, class U>
concept Is = std::is_same_v<std::remove_const_t<T>, U>;

// All members of a struct travel, but for the two below.

template <class Bytes, class T>
void pass(Bytes& b, T& v) {
  std::apply(b, members(v));
}
template <class Bytes, Is<Measured> T>
void pass(Bytes& b, T& m) {
  auto& [row, mesh, pieces, levels, walls, release, cavities_filled, deepest, bodies_written] = m;
  b(row, walls, release, cavities_filled, deepest, bodies_written);
}
template <class Bytes, Is<MeasureSettings> T>
void pass(Bytes& b, T& s) {
  auto& [unit, usual, more_formats, read_as, up, up_given, find_up, level_rim, known, tilts, find_lean,
         tilt_limit, fill, fill_to, dips, only, close_holes, gap, max_uncertainty, keep_mesh, without_air,
         without_film, inspection, quick, jobs, cache, program, limits, progress] = s;
  b(unit, usual, more_formats, read_as, up, up_given, find_up, level_rim, known, tilts, find_lean, tilt_limit,
    fill, fill_to, dips, only, close_holes, gap, max_uncertainty, inspection, quick, program);
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
