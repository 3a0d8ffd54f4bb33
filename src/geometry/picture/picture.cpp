// SPDX-License-Identifier: GPL-3.0-or-later
// The sheet: four views of one mold with their marks and scales, what it takes above, what the marks mean
// below.
#include <pourwright/picture.hpp>

#include "geometry/mesh/points.hpp"
#include "geometry/picture/layout.hpp"
#include "geometry/picture/section.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

using namespace picture;
using drawing::At;
using drawing::Ring;

constexpr double margin = 34, gap = 22, head = 112, foot = 92, caption = 34;

/// The next of the numbers that scales end in.
double round_up(double v) {
  const double ten = std::pow(10, std::floor(std::log10(std::max(v, 1e-9))));
  for (const double f : {1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0})
    if (v <= f * ten * (1 + 1e-9)) return f * ten;
  return 10 * ten;
}

class Drawer {
 public:
  Drawer(const PictureOf& what, const PictureWords& words, const PictureOptions& options)
      : w_(what), words_(words), o_(options), up_(what.up.normalized()) {
    sheet_.width = options.width;
    sheet_.height = options.height;
    sheet_.paper = paper;
    sheet_.title = words.title;
    for (const auto& f : words.figures) sheet_.says += f.label + ": " + f.value + ". ";
    for (const auto& line : words.under) sheet_.says += line + ". ";
  }

  Expected<drawing::Sheet> run() {
    if (w_.mold.triangles.empty()) return fail(Code::no_triangles, "there is nothing to draw");
    auto mold = Seen::make(w_.mold);
    if (!mold) return mold.error();
    mold_.emplace(std::move(*mold));
    if (!w_.piece.triangles.empty()) {
      auto piece = Seen::make(w_.piece);
      if (!piece) return piece.error();
      piece_.emplace(std::move(*piece));
    }
    heading();
    const double width = sheet_.width - 2 * margin - gap, height = sheet_.height - head - foot - gap;
    const double left = std::floor(0.54 * width), upper = std::floor(0.53 * height);
    side_view({margin, head, left, upper});
    top_view({margin + left + gap, head, width - left, upper});
    section_view({margin, head + upper + gap, left, height - upper});
    piece_view({margin + left + gap, head + upper + gap, width - left, height - upper});
    legend();
    return std::move(sheet_);
  }

 private:
  bool is_piece() const { return w_.is_piece; }
  /// What is coloured by its thickness, or else shown from below.
  const Seen& body() const { return piece_ && !w_.thickness_of_mold ? *piece_ : *mold_; }

  void heading() {
    double right = sheet_.width - margin;
    for (auto it = words_.figures.rbegin(); it != words_.figures.rend(); ++it) {
      const double wide = std::max(drawing::width_of(it->value, 34, true), drawing::width_of(it->label, 15));
      put_words(sheet_, {right - wide, 40}, 15, it->label, soft_ink);
      put_words(sheet_, {right - wide, 80}, 34, it->value, text_ink, drawing::Anchor::start, true);
      right -= wide + 40;
    }
    put_words(sheet_, {margin, 52}, 30, drawing::fitted(words_.title, 30, right - margin - 20, true),
              text_ink, drawing::Anchor::start, true);
    double y = 78;
    for (const std::string& line : words_.under) {
      put_words(sheet_, {margin, y}, 16, drawing::fitted(line, 16, right - margin), soft_ink);
      y += 21;
    }
  }

  /// The frame of a view; returns what is left for the view itself.
  Place framed(const Place& a, const std::string& title) {
    put_box(sheet_, a, panel, drawing::Stroke{frame, 1.2});
    put_words(sheet_, {a.x + 16, a.y + 25}, 16, drawing::fitted(title, 16, a.width - 32), text_ink);
    return {std::round(a.x) + 2, std::round(a.y + caption), std::floor(a.width) - 4,
            std::floor(a.height - caption) - 2};
  }
  void put(const Place& a, drawing::Raster raster, std::string says) {
    sheet_.items.push_back(
        drawing::Placed{static_cast<int>(a.x), static_cast<int>(a.y), std::move(raster), std::move(says)});
  }
  std::vector<const std::vector<Vec3>*> all_points() const {
    std::vector<const std::vector<Vec3>*> out{&w_.mold.vertices};
    if (piece_) out.push_back(&w_.piece.vertices);
    return out;
  }
  void scale_of(const Place& a, const Camera& camera) {
    put_scale(sheet_, {a.x + 16, a.y + a.height - 16}, camera.scale, words_.decimal);
  }
  At on_sheet(const Place& a, const Camera& camera, const Vec3& p) const {
    const At at = camera.on_screen(p);
    return {a.x + at.x, a.y + at.y};
  }

  drawing::Raster seen_by(const Camera& camera) const {
    if (is_piece())
      return solid(picture::look(*mold_, camera, o_.jobs), camera, up_, clay, clay_line, o_.jobs);
    const Samples mold = picture::look(*mold_, camera, o_.jobs);
    if (!piece_) return glass(&mold, nullptr, camera, up_, o_.jobs);
    const Samples piece = picture::look(*piece_, camera, o_.jobs);
    return glass(&mold, &piece, camera, up_, o_.jobs);
  }

  void marks(const Place& a, const Camera& camera) {
    if (!words_.drain.empty())
      for (const Drain& d : w_.drains) put_mark(sheet_, Mark::drain, on_sheet(a, camera, vec3(d.at)));
    for (const Cavity& c : w_.cavities) {
      if (!c.filled) continue;
      if (!words_.spill.empty()) put_mark(sheet_, Mark::spill, on_sheet(a, camera, spill_of(c)));
      for (const AirTrap& t : c.air_traps) put_mark(sheet_, Mark::vent, on_sheet(a, camera, vec3(t.vent)));
    }
    if (w_.thinnest) put_mark(sheet_, Mark::thinnest, on_sheet(a, camera, vec3(*w_.thinnest)));
  }

  /// Where a full cavity runs over. On a level top that may be told anywhere on it: the nearest liquid then
  /// is.
  Vec3 spill_of(const Cavity& c) const {
    const Vec3 at = vec3(c.brim_at);
    if (!piece_ || !c.level || *c.level < c.brim) return at;
    const auto near = piece_->scene().nearest(at);
    return near ? near->at : at;
  }

  void side_view(const Place& whole) {
    const Place a = framed(whole, words_.mold);
    Camera camera = looking(up_, 28, 30);
    fit(camera, all_points(), static_cast<int>(a.width), static_cast<int>(a.height), 40);
    put(a, seen_by(camera), words_.mold);
    marks(a, camera);
    scale_of(a, camera);
  }

  void top_view(const Place& whole) {
    const Place a = framed(whole, words_.top);
    Camera camera = looking(up_, 0, 90);
    fit(camera, all_points(), static_cast<int>(a.width), static_cast<int>(a.height), 52);
    put(a, seen_by(camera), words_.top);
    // Where the section is taken.
    const Plane p = plane();
    Box box;
    for (const Vec3& v : w_.mold.vertices) box.add({(v - p.at).dot(p.along), 0, 0});
    const double over = 14 / camera.scale;
    const Vec3 from = p.at + (box.low.x() - over) * p.along, to = p.at + (box.high.x() + over) * p.along;
    put_line(sheet_, {on_sheet(a, camera, from), on_sheet(a, camera, to)}, {mold_line, 1.3, 7});
    put_words(sheet_, beside(on_sheet(a, camera, from), on_sheet(a, camera, to)), 16, "A", mold_line,
              drawing::Anchor::middle, true);
    put_words(sheet_, beside(on_sheet(a, camera, to), on_sheet(a, camera, from)), 16, "A", mold_line,
              drawing::Anchor::middle, true);
    marks(a, camera);
    scale_of(a, camera);
  }
  /// A letter's place just beyond the end of a line.
  static At beside(At end, At other) {
    const double dx = end.x - other.x, dy = end.y - other.y, length = std::max(std::hypot(dx, dy), 1e-9);
    return {end.x + 12 * dx / length, end.y + 12 * dy / length + 6};
  }

  struct Plane {
    Vec3 at = Vec3::Zero(), along = Vec3::UnitX(), normal = Vec3::UnitY();
  };
  /// Upright, through the worst spot and along the way it looks, so that the wall is cut square; without one
  /// through the lowest point of the largest filled cavity, or the middle, along the longer side.
  Plane plane() const {
    Plane p;
    const Camera front = looking(up_, 0, 0);
    Box box;
    for (const Vec3& v : w_.mold.vertices) box.add({v.dot(front.right), v.dot(front.ahead), v.dot(up_)});
    const Vec3 c = box.centre();
    p.at = c.x() * front.right + c.y() * front.ahead + c.z() * up_;
    p.along = box.size().x() >= 0.8 * box.size().y() ? front.right : front.ahead;
    const Cavity* largest = nullptr;
    for (const Cavity& cavity : w_.cavities)
      if (cavity.filled && (largest == nullptr || cavity.capacity.value > largest->capacity.value))
        largest = &cavity;
    if (largest != nullptr) p.at = vec3(largest->floor_at);
    if (w_.thinnest) {
      p.at = vec3(*w_.thinnest);
      double best = std::numeric_limits<double>::infinity();
      Vec3 normal = Vec3::Zero();
      for (const ThicknessAt& t : w_.thickness)
        if (const double d = (t.at - p.at).squaredNorm(); d < best) best = d, normal = t.normal;
      const Vec3 level = normal - normal.dot(up_) * up_;
      if (level.norm() > 0.3) p.along = level.normalized();
    }
    // From left to right as seen from the front.
    if (p.along.dot(front.right) < -1e-9) p.along = -p.along;
    p.normal = p.along.cross(up_);
    return p;
  }

  static std::vector<Ring> rings(const std::vector<CutLine>& lines, const Place& a, const Camera& camera) {
    std::vector<Ring> out;
    for (const CutLine& l : lines) {
      Ring& ring = out.emplace_back();
      for (const Vec3& p : l.points) {
        const At at = camera.on_screen(p);
        ring.push_back({a.x + at.x, a.y + at.y});
      }
    }
    return out;
  }

  void section_view(const Place& whole) {
    const Place a = framed(whole, words_.section);
    const Plane p = plane();
    const std::vector<CutLine> mold = cut(w_.mold, p.at, p.normal);
    const std::vector<CutLine> piece = piece_ ? cut(w_.piece, p.at, p.normal) : std::vector<CutLine>();
    std::vector<Vec3> points;
    for (const auto* lines : {&mold, &piece})
      for (const CutLine& l : *lines) points.insert(points.end(), l.points.begin(), l.points.end());
    Camera camera;
    camera.right = p.along;
    camera.down = -up_;
    camera.ahead = -p.normal;
    fit(camera, {&points}, static_cast<int>(a.width) - 150, static_cast<int>(a.height), 42);
    const auto mold_rings = rings(mold, a, camera), piece_rings = rings(piece, a, camera);
    if (w_.open) {
      sheet_.items.push_back(
          drawing::Shape{piece_rings, true, clay, drawing::Stroke{clay_line, 1.4}, words_.liquid});
      for (std::size_t i = 0; i < mold.size(); ++i)
        sheet_.items.push_back(drawing::Shape{
            {mold_rings[i]}, mold[i].closed, {}, drawing::Stroke{mold_line, 2.6}, words_.body});
    } else {
      const drawing::Ink light =
          is_piece() ? drawing::mixed(clay, panel, 0.45) : drawing::mixed(mold_ink, panel, 0.45);
      const drawing::Ink dark = is_piece() ? clay_line : mold_line;
      sheet_.items.push_back(drawing::Shape{mold_rings, true, light, {}, words_.body});
      sheet_.items.push_back(drawing::Shape{drawing::hatching(mold_rings, 45, 9),
                                            false,
                                            {},
                                            drawing::Stroke{drawing::mixed(dark, panel, 0.3), 1}});
      if (piece_)
        sheet_.items.push_back(
            drawing::Shape{piece_rings, true, clay, drawing::Stroke{clay_line, 1.4}, words_.liquid});
      sheet_.items.push_back(drawing::Shape{mold_rings, true, {}, drawing::Stroke{dark, 1.7}});
    }
    levels(a, camera, piece);
    if (w_.thinnest) put_mark(sheet_, Mark::thinnest, on_sheet(a, camera, vec3(*w_.thinnest)));
    scale_of(a, camera);
  }

  /// The level of what is cut, with its depth at the right.
  void levels(const Place& a, const Camera& camera, const std::vector<CutLine>& piece) {
    if (piece.empty()) return;
    const Cavity* shown = nullptr;
    double low = std::numeric_limits<double>::infinity(), high = -low, right = low, left = -low;
    left = std::numeric_limits<double>::infinity();
    right = -left;
    for (const CutLine& l : piece)
      for (const Vec3& p : l.points) {
        low = std::min(low, p.dot(up_));
        high = std::max(high, p.dot(up_));
        left = std::min(left, on_sheet(a, camera, p).x);
        right = std::max(right, on_sheet(a, camera, p).x);
      }
    for (const Cavity& c : w_.cavities)
      if (c.level && (shown == nullptr || std::abs(in_millimetres(*c.level) - high) <
                                              std::abs(in_millimetres(*shown->level) - high)))
        shown = &c;
    if (shown == nullptr) return;
    const auto y_of = [&](Length height) { return on_sheet(a, camera, in_millimetres(height) * up_).y; };
    const double top = y_of(*shown->level), bottom = y_of(shown->floor), at = a.x + a.width - 120;
    put_line(sheet_, {{left - 16, top}, {at + 14, top}}, {water, 1.8, 6});
    put_line(sheet_, {{right + 8, bottom}, {at + 14, bottom}}, {soft_ink, 1, 4});
    put_line(sheet_, {{at, top}, {at, bottom}}, {text_ink, 1.3});
    for (const auto& [y, sign] : {std::pair(top, 1.0), std::pair(bottom, -1.0)})
      if (bottom - top > 20)
        put_line(sheet_, {{at - 4, y + 8 * sign}, {at, y}, {at + 4, y + 8 * sign}}, {text_ink, 1.3});
    const double deep = in_millimetres(*shown->level - shown->floor);
    const double y = std::clamp((top + bottom) / 2 + 6, a.y + 14, a.y + a.height - 44);
    put_words(sheet_, {at + 14, y}, 16, length_text(deep, words_.decimal, deep), text_ink);
    put_words(sheet_, {at + 20, std::max(top - 8, a.y + 10)}, 14, words_.level, water);
  }
  static std::string length_text(double mm, char decimal, double exact) {
    return number_text(exact, mm < 1 ? 0.001 : mm < 100 ? 0.1 : 1, decimal) + " mm";
  }

  /// From where most of what is thin is seen; from where the body shows most when nothing is.
  Camera towards_the_thin() const {
    Camera best = looking(up_, 28, -28);
    double most = -1;
    const double limit = w_.limit ? in_millimetres(*w_.limit) : 0;
    for (const double height : {-28.0, 28.0})
      for (const double azimuth : {28.0, 118.0, 208.0, 298.0}) {
        const Camera c = looking(up_, azimuth, height);
        double seen = height < 0 ? 1e-6 : 0;
        for (std::size_t i = 0; i < w_.thickness.size(); ++i) {
          const ThicknessAt& t = w_.thickness[i];
          const double facing = -t.normal.dot(c.ahead);
          if (t.mm >= limit || facing < 0.1) continue;
          if (!body().scene().first_hit(t.at + 1e-4 * body().scene().size() * t.normal, -c.ahead))
            seen += facing;
        }
        if (w_.thinnest) {
          const Vec3 at = vec3(*w_.thinnest);
          // It counts as much as a tenth of all.
          if (!body().scene().first_hit(at - 2e-3 * body().scene().size() * c.ahead, -c.ahead))
            seen += 0.1 * static_cast<double>(w_.thickness.size());
        }
        if (seen > most * (1 + 1e-9)) most = seen, best = c;
      }
    return best;
  }

  double spacing() const {
    double area = 0;
    for (const Triangle& t : body().soup().triangles) {
      const auto& v = body().soup().vertices;
      area += (v[t[1]] - v[t[0]]).cross(v[t[2]] - v[t[0]]).norm() / 2;
    }
    return std::sqrt(area / static_cast<double>(std::max<std::size_t>(w_.thickness.size(), 1)));
  }

  void piece_view(const Place& whole) {
    const Place a = framed(whole, words_.piece);
    if (w_.thickness.empty()) {
      // What is known of it: its shape, or a mold that holds nothing from below, where it leaks.
      Camera camera = looking(up_, 28, -30);
      fit(camera, {&body().soup().vertices}, static_cast<int>(a.width), static_cast<int>(a.height), 40);
      const Samples samples = picture::look(body(), camera, o_.jobs);
      put(a,
          piece_ ? solid(samples, camera, up_, clay, clay_line, o_.jobs)
                 : glass(&samples, nullptr, camera, up_, o_.jobs),
          words_.piece);
      if (!piece_) marks(a, camera);
      scale_of(a, camera);
      return;
    }
    std::vector<double> all;
    for (const ThicknessAt& t : w_.thickness) all.push_back(t.mm);
    std::sort(all.begin(), all.end());
    const double limit = w_.limit ? in_millimetres(*w_.limit) : 0;
    // Twice the limit at least, so that what is thin never looks like what is thick.
    const double most = round_up(std::max(all[all.size() * 95 / 100], all.front() < limit ? 2 * limit : 0));
    Camera camera = towards_the_thin();
    fit(camera, {&body().soup().vertices}, static_cast<int>(a.width) - 110, static_cast<int>(a.height), 36);
    const ThicknessField field(w_.thickness, spacing());
    const bool hatched = w_.limit && limit < most;
    put(a,
        by_thickness(picture::look(body(), camera, o_.jobs), camera, field, most,
                     w_.limit ? std::optional(limit) : std::nullopt, o_.jobs),
        words_.piece);
    if (w_.thinnest) put_mark(sheet_, Mark::thinnest, on_sheet(a, camera, vec3(*w_.thinnest)));
    scale_of(a, camera);
    put_tones(sheet_, {a.x + a.width - 76, a.y + 22, 22, a.height - 60}, most,
              hatched ? std::optional(limit) : std::nullopt, words_);
  }

  void legend() {
    double x = margin, y = sheet_.height - foot + 30;
    const double end = sheet_.width - margin;
    const auto room_for = [&](double wide) {
      if (x + wide > end && x > margin) x = margin, y += 26;
    };
    const auto swatch = [&](const std::string& text, const drawing::Ink& fill, const drawing::Ink& line) {
      if (text.empty()) return;
      const double wide = 28 + drawing::width_of(text, 15) + 26;
      room_for(wide);
      put_box(sheet_, {x, y - 13, 20, 15}, fill, drawing::Stroke{line, 1.2});
      put_words(sheet_, {x + 28, y}, 15, text, text_ink);
      x += wide;
    };
    const auto sign = [&](const std::string& text, Mark mark) {
      if (text.empty()) return;
      const double wide = 28 + drawing::width_of(text, 15) + 26;
      room_for(wide);
      put_mark(sheet_, mark, {x + 10, y - 5});
      put_words(sheet_, {x + 28, y}, 15, text, text_ink);
      x += wide;
    };
    if (is_piece()) {
      swatch(words_.body, clay, clay_line);
    } else {
      swatch(words_.body, drawing::mixed(mold_ink, panel, 0.45), mold_line);
      if (piece_) swatch(words_.liquid, clay, clay_line);
    }
    sign(words_.spill, Mark::spill);
    sign(words_.vent, Mark::vent);
    sign(words_.drain, Mark::drain);
    sign(words_.thinnest, Mark::thinnest);
    if (!words_.thin.empty()) {
      const double wide = 28 + drawing::width_of(words_.thin, 15) + 26;
      room_for(wide);
      const Ring box = {{x, y - 13}, {x + 20, y - 13}, {x + 20, y + 2}, {x, y + 2}};
      put_box(sheet_, {x, y - 13, 20, 15}, drawing::tone(6), drawing::Stroke{alarm, 1.6});
      sheet_.items.push_back(drawing::Shape{
          drawing::hatching({box}, 45, 6), false, {}, drawing::Stroke{hatch_on(drawing::tone(6)), 1.6}});
      put_words(sheet_, {x + 28, y}, 15, words_.thin, text_ink);
      x += wide;
    }
    for (const std::string& note : words_.notes) {
      y += 24;
      put_words(sheet_, {margin, y}, 14, drawing::fitted(note, 14, end - margin), soft_ink);
    }
  }

  const PictureOf& w_;
  const PictureWords& words_;
  const PictureOptions& o_;
  Vec3 up_;
  drawing::Sheet sheet_;
  std::optional<Seen> mold_, piece_;
};

}  // namespace

Expected<drawing::Sheet> draw_picture(const PictureOf& what, const PictureWords& words,
                                      const PictureOptions& options) {
  return Drawer(what, words, options).run();
}

}  // namespace pourwright
