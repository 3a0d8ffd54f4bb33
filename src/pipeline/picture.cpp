// SPDX-License-Identifier: GPL-3.0-or-later
// Measure again → thickness → draw → write, a file at a time, each in the process that has its mesh.
#include <pourwright/picture.hpp>
#include <pourwright/pipeline_picture.hpp>
#include <pourwright/pipeline_run.hpp>
#include <pourwright/report_picture.hpp>
#include <pourwright/walls.hpp>

#include "geometry/mesh/points.hpp"
#include "pipeline/measure.hpp"
#include "pipeline/workers.hpp"

#include <algorithm>
#include <set>
#include <thread>

#include <fmt/format.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;

/// Enough for a coloured view; inspect takes more.
constexpr std::size_t picture_samples = 3'000;

TriangleSoup all_of(std::vector<TriangleSoup> parts) {
  if (parts.size() == 1) return std::move(parts[0]);
  TriangleSoup all;
  for (const TriangleSoup& s : parts) {
    const auto base = static_cast<Index>(all.vertices.size());
    all.vertices.insert(all.vertices.end(), s.vertices.begin(), s.vertices.end());
    for (const Triangle& t : s.triangles) all.triangles.push_back({t[0] + base, t[1] + base, t[2] + base});
  }
  return all;
}

class PictureMaker {
 public:
  PictureMaker(const PictureSettings& settings, const PicturePlaces& places, int jobs)
      : settings_(settings), places_(places), jobs_(jobs) {}

  /// What went wrong stands in the row.
  Measured make(const FoundFile& file, std::size_t number) const {
    MeasureSettings keeping = settings_.measure;
    keeping.keep_mesh = keeping.without_film = true;
    keeping.inspection.reset();
    keeping.cache.clear();
    Measured m = measure_one(file, keeping);
    if (!m.row.error) m.row.error = drawn(m, number);
    m.mesh = {};
    m.pieces.clear();
    return m;
  }

 private:
  std::optional<Problem> drawn(Measured& m, std::size_t number) const {
    if (m.mesh.triangles.empty())
      return fail(Code::overlaps_itself, "there is no closed mesh to draw; only the volume could be told",
                  "unite the bodies in the modelling program");
    PictureOf what;
    what.open = m.row.read_as(Reading::scan);
    what.is_piece = m.row.read_as(Reading::piece);
    what.up = vec3(m.row.up);
    what.cavities = m.row.cavities;
    what.drains = m.row.drains.value_or(std::vector<Drain>());
    what.mold = std::move(m.mesh);
    what.piece = all_of(std::move(m.pieces));
    std::string why_not;
    std::optional<Walls> walls = thickness(m, what, why_not);
    PictureWords words = picture_words(m.row, walls, why_not, settings_.style);
    if (settings_.add) settings_.add(number, words);
    PictureOptions options;
    options.jobs = jobs_;
    const auto sheet = draw_picture(what, words, options);
    if (!sheet) return sheet.error();
    if (!places_.png.empty())
      if (auto problem = put(places_.png[number], drawing::png_of(drawing::painted(*sheet)))) return problem;
    if (!places_.svg.empty()) return put(places_.svg[number], drawing::svg_of(*sheet));
    return std::nullopt;
  }

  std::optional<Walls> thickness(const Measured& m, PictureOf& what, std::string& why_not) const {
    const bool of_mold = settings_.of_mold && m.row.read_as(Reading::mold);
    what.thickness_of_mold = of_mold || m.row.read_as(Reading::piece);
    const TriangleSoup& soup = what.thickness_of_mold ? what.mold : what.piece;
    if (soup.triangles.empty()) return std::nullopt;
    auto taken = take_closed(make_surface(soup));
    auto measured = taken ? measure_walls(taken->body, {settings_.limit, picture_samples, false, true})
                          : Expected<MeasuredWalls>(taken.error());
    if (!measured) {
      why_not = "The thickness could not be measured: " + measured.error().text;
      return std::nullopt;
    }
    for (const WallSample& s : measured->kept) what.thickness.push_back({s.at, s.normal, s.ball, s.own});
    what.limit = settings_.limit;
    what.thinnest = measured->min_at;
    Walls walls = std::move(*measured);
    walls.of = of_mold ? WallsOf::mold : WallsOf::piece;
    return walls;
  }

  std::optional<Problem> put(const fs::path& name, const Expected<std::string>& bytes) const {
    if (!bytes) return bytes.error();
    return write_file(name, *bytes, places_.overwrite);
  }

  const PictureSettings& settings_;
  const PicturePlaces& places_;
  int jobs_;
};

}  // namespace

Expected<std::vector<fs::path>> picture_names(const std::vector<FoundFile>& files, const std::string& out,
                                              std::string_view ending) {
  static constexpr std::string_view mark = "{name}";
  std::error_code error;
  std::string pattern = out;
  if (out.ends_with('/') || fs::is_directory(out, error))
    pattern = (fs::path(out) / fmt::format("{}{}", mark, ending)).string();
  const auto at = pattern.find(mark);
  if (files.size() > 1 && at == std::string::npos)
    return fail(Code::usage, fmt::format("“{}” is one picture, and there are {} molds", out, files.size()),
                fmt::format("name a folder (pictures/), or put {{name}} in it: pictures/{{name}}{}", ending));
  std::vector<fs::path> names;
  std::set<std::string> taken;
  for (const FoundFile& f : files) {
    if (at == std::string::npos) {
      names.emplace_back(pattern);
      continue;
    }
    const std::string stem = f.path.stem().string();
    std::string name;
    for (int k = 1; name.empty() || !taken.insert(name).second; ++k)
      name = pattern.substr(0, at) + stem + (k == 1 ? "" : fmt::format("-{}", k)) +
             pattern.substr(at + mark.size());
    names.emplace_back(name);
  }
  // One level: a whole path that is mistyped shall not be made.
  if (const fs::path folder = fs::path(pattern).parent_path(); !folder.empty() && at != std::string::npos)
    if (!fs::exists(folder, error)) fs::create_directory(folder, error);
  return names;
}

std::vector<std::optional<Problem>> write_pictures(const std::vector<FoundFile>& files,
                                                   const PictureSettings& settings,
                                                   const PicturePlaces& places) {
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  const std::size_t wanted =
      settings.measure.jobs > 0 ? static_cast<std::size_t>(settings.measure.jobs) : cores;
  const PictureMaker maker(settings, places, files.size() > 1 ? 1 : static_cast<int>(wanted));
  std::vector<std::optional<Problem>> out(files.size());
  std::vector<char> done(files.size());
  const auto number = [&](const FoundFile& f) { return static_cast<std::size_t>(&f - files.data()); };
  std::vector<std::size_t> all(files.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  MeasureSettings limits = settings.measure;
  if (limits.limits.time == Duration()) limits.limits.time = usual_time;
  measure_in_children(
      files, all, limits, wanted, [&](const FoundFile& f) { return maker.make(f, number(f)); },
      [&](std::size_t i, Measured m) {
        out[i] = std::move(m.row.error);
        done[i] = 1;
      });
  for (std::size_t i = 0; i < files.size(); ++i)
    if (done[i] == 0) out[i] = maker.make(files[i], i).row.error;
  return out;
}

}  // namespace pourwright
