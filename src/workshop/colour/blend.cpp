// SPDX-License-Identifier: GPL-3.0-or-later
// Kubelka and Munk, Zeitschrift für technische Physik 12 (1931) 593–601, with one constant: pigment adds to
// what the base absorbs and the base alone scatters. In each of three bands K/S then grows in proportion to
// the dose.
#include <pourwright/colour.hpp>

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

using Bands = std::array<double, 3>;

Bands bands(const Colour& c) {
  return {c.red, c.green, c.blue};
}
Colour colour(const Bands& b) {
  return {b[0], b[1], b[2]};
}

/// A matt surface sends at least this back from its skin, however dark the inside: 8-bit black is no
/// measurement.
constexpr double darkest = 0.002;

Bands absorptions(const Colour& c) {
  Bands k = bands(c);
  for (double& v : k) v = absorption(std::clamp(v, darkest, 1.0));
  return k;
}

/// What one whole share of each pigment would add to the base.
struct Palette {
  Bands base;
  std::vector<Bands> per_share;

  Colour at(const std::vector<double>& shares) const {
    Bands r{};
    for (std::size_t i = 0; i < 3; ++i) {
      double k = base[i];
      for (std::size_t p = 0; p < per_share.size(); ++p) k += shares[p] * per_share[p][i];
      r[i] = reflectance(std::max(k, 0.0));
    }
    return colour(r);
  }
};

Expected<Palette> palette(const Colour& base, const std::vector<Swatch>& swatches) {
  Palette p{absorptions(base), {}};
  for (const Swatch& s : swatches) {
    if (s.pigment.dose <= Ratio())
      return fail(Code::shares_invalid, fmt::format("the swatch of {} has no pigment in it", s.pigment.name),
                  "a swatch is a dried piece with a known dose of one pigment, for example Kelp=2%:#5f8a62");
    Bands k = absorptions(s.dried);
    for (std::size_t i = 0; i < 3; ++i) k[i] = (k[i] - p.base[i]) / s.pigment.dose.value();
    p.per_share.push_back(k);
  }
  return p;
}

void note_stretched(Blend& out, const std::vector<Swatch>& swatches) {
  for (const PigmentDose& d : out.doses)
    for (const Swatch& s : swatches)
      if (s.pigment.name == d.name && d.dose.value() > 1.5 * s.pigment.dose.value())
        out.notes.push_back({"swatch-stretched",
                             fmt::format("{} at {:.4g} % is guessed from a swatch of {:.4g} %", d.name,
                                         d.dose.in_percent(), s.pigment.dose.in_percent()),
                             true});
}

Blend finished(const Palette& p, const std::vector<double>& shares, std::vector<PigmentDose> doses,
               const std::vector<Swatch>& swatches) {
  Blend out;
  out.doses = std::move(doses);
  out.dried = p.at(shares);
  out.damp = when_damp(out.dried);
  note_stretched(out, swatches);
  return out;
}

/// Steps up and down in one pigment or from one into another, as long as it comes nearer; then half the step.
/// Doses are whole hundredths of a per cent.
std::vector<int> nearest_doses(const Palette& p, const Lab& target, int most, std::vector<int> doses) {
  const std::size_t n = doses.size();
  const auto far = [&](const std::vector<int>& d) {
    std::vector<double> shares(n);
    std::transform(d.begin(), d.end(), shares.begin(), [](int v) { return v * 1e-4; });
    return difference(lab(p.at(shares)), target);
  };
  int total = 0;
  for (const int d : doses) total += d;
  double best = far(doses);
  for (int step = std::max(1, most / 4); step > 0;) {
    bool nearer = false;
    for (std::size_t from = 0; from <= n; ++from)
      for (std::size_t to = 0; to <= n; ++to) {  // n stands for the plain mix
        if (from == to || (from < n && doses[from] < step) || (from == n && total + step > most)) continue;
        std::vector<int> tried = doses;
        if (from < n) tried[from] -= step;
        if (to < n) tried[to] += step;
        const double d = far(tried);
        if (d >= best) continue;
        total += (to < n ? step : 0) - (from < n ? step : 0);
        best = d, doses = std::move(tried), nearer = true;
      }
    if (!nearer) step /= 2;
  }
  return doses;
}

}  // namespace

double absorption(double reflectance) {
  return (1 - reflectance) * (1 - reflectance) / (2 * reflectance);
}

double reflectance(double absorption) {
  // 1 + k − √(k² + 2k) without its cancellation for large k.
  return 1 / (1 + absorption + std::sqrt(absorption * (absorption + 2)));
}

Colour when_damp(const Colour& dry) {
  // 2.01 % goes back from the film's surface; of what comes up from below it turns back the share p, the mean
  // over diffuse light.
  constexpr double skin = 0.0201, p = 1 - (1 - 0.0659) / (1.33 * 1.33);
  Bands b = bands(dry);
  for (double& r : b) r = skin + (1 - skin) * (1 - p) * r / (1 - p * r);
  return colour(b);
}

Expected<Blend> blend(const Colour& base, const std::vector<Swatch>& swatches,
                      const std::vector<PigmentDose>& doses) {
  const auto p = palette(base, swatches);
  if (!p) return p.error();
  std::vector<double> shares(swatches.size());
  for (const PigmentDose& d : doses) {
    const auto s = std::find_if(swatches.begin(), swatches.end(),
                                [&](const Swatch& w) { return w.pigment.name == d.name; });
    if (s == swatches.end())
      return fail(
          Code::unknown_name, fmt::format("there is no swatch of {}", d.name),
          fmt::format("cast and dry a piece with a known dose of it: --swatch {}=2%:#5f8a62", d.name));
    shares[static_cast<std::size_t>(s - swatches.begin())] += d.dose.value();
  }
  return finished(*p, shares, doses, swatches);
}

Expected<Blend> match(const Colour& base, const std::vector<Swatch>& swatches, const Colour& target,
                      Ratio ceiling) {
  const auto p = palette(base, swatches);
  if (!p) return p.error();
  if (swatches.empty())
    return fail(Code::unknown_name, "there is no swatch to match the colour with",
                "give --swatch NAME=DOSE:COLOUR for each pigment at hand");
  const Lab goal = lab(target);
  const int most = static_cast<int>(std::max<std::int64_t>(ceiling.in_millionths() / 100, 0));
  // The way there may start well only from one pigment alone.
  std::vector<int> best;
  double best_far = 0;
  for (std::size_t start = 0; start <= swatches.size(); ++start) {
    std::vector<int> doses(swatches.size(), 0);
    if (start < swatches.size()) doses[start] = most / 2;
    doses = nearest_doses(*p, goal, most, std::move(doses));
    std::vector<double> shares;
    for (const int d : doses) shares.push_back(d * 1e-4);
    const double far = difference(lab(p->at(shares)), goal);
    if (best.empty() || far < best_far) best = std::move(doses), best_far = far;
  }
  std::vector<double> shares;
  std::vector<PigmentDose> doses;
  for (std::size_t i = 0; i < best.size(); ++i) {
    shares.push_back(best[i] * 1e-4);
    if (best[i] > 0) doses.push_back({swatches[i].pigment.name, Ratio::millionths(100 * best[i])});
  }
  return finished(*p, shares, std::move(doses), swatches);
}

}  // namespace pourwright
