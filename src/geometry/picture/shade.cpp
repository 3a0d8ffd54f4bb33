// SPDX-License-Identifier: GPL-3.0-or-later
// Colours of samples. Law: light falls the same way in every view, from the upper left behind the eye; tones
// of thickness are shaded so little that a darker one stays the thinner one.
#include "geometry/picture/shade.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::picture {
namespace {

using drawing::Ink;
using drawing::Raster;

struct Colour {
  double r = 0, g = 0, b = 0, alpha = 0;  ///< not multiplied by alpha
  void over(const Ink& ink, double share) {
    const double a = share + alpha * (1 - share);
    if (!(a > 0)) return;
    const auto mix = [&](double below, double above) {
      return (above * share + below * alpha * (1 - share)) / a;
    };
    r = mix(r, ink.r);
    g = mix(g, ink.g);
    b = mix(b, ink.b);
    alpha = a;
  }
};

Raster blank(const Camera& camera) {
  Raster r{camera.width, camera.height, {}};
  r.rgba.resize(4 * static_cast<std::size_t>(camera.width) * static_cast<std::size_t>(camera.height));
  return r;
}

/// The mean of the samples of each point.
template <class ColourOf>
Raster points_of(const Camera& camera, int jobs, ColourOf colour_of) {
  Raster out = blank(camera);
  by_rows(camera.height, jobs, [&](int y) {
    for (int x = 0; x < camera.width; ++x) {
      double r = 0, g = 0, b = 0, alpha = 0;
      for (int k = 0; k < fine * fine; ++k) {
        const Colour c = colour_of(fine * x + k % fine, fine * y + k / fine);
        r += c.r * c.alpha;
        g += c.g * c.alpha;
        b += c.b * c.alpha;
        alpha += c.alpha;
      }
      if (!(alpha > 0)) continue;
      std::uint8_t* const p =
          out.rgba.data() + 4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(camera.width) +
                                 static_cast<std::size_t>(x));
      p[0] = static_cast<std::uint8_t>(r / alpha + 0.5);
      p[1] = static_cast<std::uint8_t>(g / alpha + 0.5);
      p[2] = static_cast<std::uint8_t>(b / alpha + 0.5);
      p[3] = static_cast<std::uint8_t>(255 * alpha / (fine * fine) + 0.5);
    }
  });
  return out;
}

class Light {
 public:
  explicit Light(const Camera& camera)
      : to_(((-0.45) * camera.right - 0.75 * camera.down - 0.9 * camera.ahead).normalized().cast<float>()),
        eye_((-camera.ahead).cast<float>()) {}
  /// 0 turned away to 1 facing the light.
  double on(const Sample& s) const {
    return std::clamp(0.5 + 0.5 * static_cast<double>(s.normal.dot(to_)), 0.0, 1.0);
  }
  /// 0 facing the eye to 1 seen edge on.
  double slant(const Sample& s) const {
    return 1 - std::clamp(static_cast<double>(s.normal.dot(eye_)), 0.0, 1.0);
  }

 private:
  Eigen::Vector3f to_, eye_;
};

Ink lit(const Ink& ink, double light) {
  return light < 0.75 ? drawing::mixed(ink, drawing::ink(0x1f2a2c), 0.55 * (0.75 - light))
                      : drawing::mixed(ink, drawing::ink(0xffffff), 0.9 * (light - 0.75));
}

std::size_t place(const Samples& s, int x, int y) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(s.width) + static_cast<std::size_t>(x);
}

}  // namespace

Raster glass(const Samples* mold, const Samples* piece, const Camera& camera, const Vec3& up, int jobs) {
  const std::vector<float> mold_lines = mold != nullptr ? outlines(*mold, camera) : std::vector<float>();
  const std::vector<float> piece_lines = piece != nullptr ? outlines(*piece, camera) : std::vector<float>();
  const Light light(camera);
  const Eigen::Vector3f upwards = up.cast<float>();
  const auto level = static_cast<float>(std::cos(0.02));
  const auto near = static_cast<float>(0.5 / camera.scale);
  return points_of(camera, jobs, [&](int x, int y) {
    Colour c;
    const Sample* const p = piece != nullptr && piece->at(x, y).met() ? &piece->at(x, y) : nullptr;
    const Sample* const m = mold != nullptr && mold->at(x, y).met() ? &mold->at(x, y) : nullptr;
    const float piece_line = piece != nullptr ? piece_lines[place(*piece, x, y)] : 0;
    const float mold_line_here = mold != nullptr ? mold_lines[place(*mold, x, y)] : 0;
    if (p != nullptr) c.over(p->normal.dot(upwards) > level ? clay_top : lit(clay, light.on(*p)), 1);
    if (piece_line > 0) c.over(clay_line, 0.75 * static_cast<double>(piece_line));
    const bool before = p != nullptr && (m == nullptr || p->depth <= m->depth + near);
    if (m != nullptr && !before) {
      const double slant = light.slant(*m);
      c.over(lit(mold_ink, light.on(*m)),
             p != nullptr ? 0.24 + 0.3 * slant * slant : 0.38 + 0.3 * slant * slant);
    }
    if (mold_line_here > 0 && !before) c.over(mold_line, 0.85 * static_cast<double>(mold_line_here));
    return c;
  });
}

Raster solid(const Samples& body, const Camera& camera, const Vec3& up, const Ink& ink, const Ink& line,
             int jobs) {
  const std::vector<float> lines = outlines(body, camera);
  const Light light(camera);
  (void)up;
  return points_of(camera, jobs, [&](int x, int y) {
    Colour c;
    if (const Sample& s = body.at(x, y); s.met()) c.over(lit(ink, light.on(s)), 1);
    if (const float l = lines[place(body, x, y)]; l > 0) c.over(line, 0.8 * static_cast<double>(l));
    return c;
  });
}

ThicknessField::ThicknessField(const std::vector<ThicknessAt>& places, double spacing)
    : places_(places),
      spacing_(spacing),
      points_([&] {
        std::vector<Vec3> points;
        for (const ThicknessAt& t : places) points.push_back(t.at);
        return points;
      }()),
      grid_(points_, 2 * spacing) {}

/// Weighed by distance and by how alike places face; one that borrows its thickness speaks only where no
/// other does.
std::optional<double> ThicknessField::at(const Vec3& p, const Vec3& normal) const {
  for (const double reach : {2.0, 5.0}) {
    double own = 0, own_weight = 0, borrowed = 0, borrowed_weight = 0;
    grid_.around(p, reach * spacing_, [&](Index i) {
      const ThicknessAt& t = places_[i];
      const double alike = t.normal.dot(normal);
      if (alike < 0.4) return;
      const double d2 = (t.at - p).squaredNorm() / (spacing_ * spacing_),
                   w = alike * alike / ((d2 + 0.1) * (d2 + 0.1));
      (t.own ? own : borrowed) += w * t.mm;
      (t.own ? own_weight : borrowed_weight) += w;
    });
    if (own_weight > 0.02) return own / own_weight;
    if (borrowed_weight > 0) return borrowed / borrowed_weight;
    if (own_weight > 0) return own / own_weight;
  }
  return std::nullopt;
}

double hatch_at(double x, double y) {
  constexpr double apart = 8, thick = 2.2;
  double t = std::fmod((x + y) / std::sqrt(2.0), apart);
  if (t < 0) t += apart;
  return std::clamp(thick / 2 + 0.5 - std::abs(t - apart / 2), 0.0, 1.0);
}

Ink hatch_on(const Ink& tone) {
  return drawing::lightness(tone) < 55 ? drawing::ink(0xfbf3e4) : drawing::ink(0x3a2230);
}

Raster by_thickness(const Samples& body, const Camera& camera, const ThicknessField& field, double most,
                    std::optional<double> limit, int jobs) {
  const std::vector<float> lines = outlines(body, camera);
  const Light light(camera);
  const auto width = static_cast<std::size_t>(camera.width);
  // Negative: not there, infinite: not known.
  std::vector<double> mm(width * static_cast<std::size_t>(camera.height), -1);
  by_rows(camera.height, jobs, [&](int y) {
    for (int x = 0; x < camera.width; ++x) {
      for (int k = 0; k < fine * fine; ++k) {
        const Sample& s = body.at(fine * x + k % fine, fine * y + k / fine);
        if (!s.met()) continue;
        const Vec3 p = place_of(camera, x + (k % fine + 0.5) / fine, y + (k / fine + 0.5) / fine, s.depth);
        mm[static_cast<std::size_t>(y) * width + static_cast<std::size_t>(x)] =
            field.at(p, s.normal.cast<double>()).value_or(std::numeric_limits<double>::infinity());
        break;
      }
    }
  });
  const auto thin = [&](int x, int y) {
    if (!limit || x < 0 || y < 0 || x >= camera.width || y >= camera.height) return false;
    const double t = mm[static_cast<std::size_t>(y) * width + static_cast<std::size_t>(x)];
    return t >= 0 && t < *limit;
  };
  return points_of(camera, jobs, [&](int sx, int sy) {
    Colour c;
    const int x = sx / fine, y = sy / fine;
    const Sample& s = body.at(sx, sy);
    const double t = mm[static_cast<std::size_t>(y) * width + static_cast<std::size_t>(x)];
    if (s.met()) {
      const bool known = std::isfinite(t);
      const Ink tone = known ? drawing::tone_at(t / most) : drawing::ink(0xd9d6ce);
      c.over(drawing::mixed(tone, drawing::ink(0x10181a), 0.16 * (1 - light.on(s))), 1);
      if (thin(x, y)) {
        c.over(hatch_on(tone), 0.8 * hatch_at((sx + 0.5) / fine, (sy + 0.5) / fine));
        if (!thin(x - 1, y) || !thin(x + 1, y) || !thin(x, y - 1) || !thin(x, y + 1)) c.over(alarm, 0.9);
      }
    }
    if (const float l = lines[place(body, sx, sy)]; l > 0) c.over(text_ink, 0.7 * static_cast<double>(l));
    return c;
  });
}

}  // namespace pourwright::picture
