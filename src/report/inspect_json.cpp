// SPDX-License-Identifier: GPL-3.0-or-later
// Walls, release and risks for programs.
#include <pourwright/report_inspect.hpp>

#include "report/json_values.hpp"
#include "report/measured_json.hpp"

namespace pourwright {
using namespace json;

namespace {

Json mm_number(Length l) {
  return number(in_millimetres(l));
}
Json mm2(Area a) {
  return number(in_square_millimetres(a));
}

Json spot(const SpotRow& row, bool of_piece) {
  const ThinSpot& s = row.spot;
  Json j{{"kind", name(s.kind)},
         {"thickness_mm", mm_number(s.thickness)},
         {"typical_mm", mm_number(s.typical)},
         {"at_mm", point(s.at)},
         {"normal", point(s.normal)},
         {"end_mm", point(s.end)},
         {"reach_mm", mm_number(s.reach)},
         {"width_mm", mm_number(s.width)},
         {"span_mm", mm_number(s.span)},
         {"area_mm2", mm2(s.area)}};
  const auto of = [&](Json v) { return of_piece ? std::move(v) : Json(nullptr); };
  j["stress_mpa"] = of(number(row.stress.worst_mpa()));
  j["load"] = of(row.stress.worst_load());
  j["peel_mpa"] = of(number(row.stress.peel_mpa));
  j["pry_mpa"] = of(number(row.stress.pry_mpa));
  j["weight_mpa"] = of(number(row.stress.weight_mpa));
  j["margin"] = of(number(row.margin));
  j["risk"] = of(name(row.risk));
  j["against_rest"] = row.against_rest ? number(*row.against_rest) : Json(nullptr);
  j["feather"] = of(row.feather);
  j["wait_until_min"] = row.wait_until ? number(in_minutes(*row.wait_until)) : Json(nullptr);
  j["thicken_to_mm"] = row.thicken_to ? mm_number(*row.thicken_to) : Json(nullptr);
  j["help"] = row.help;
  return j;
}

Json walls(const InspectRow& row) {
  const std::optional<Walls>& w = row.walls;
  if (!w) return nullptr;
  Json j{{"of", name(w->of)},
         {"samples", w->samples},
         {"samples_per_mm2", number(w->samples_per_mm2)},
         {"min_mm", mm_number(w->min)},
         {"min_at_mm", point(w->min_at)},
         {"p05_mm", mm_number(w->p05)},
         {"median_mm", mm_number(w->median)},
         {"ray_min_mm", mm_number(w->ray_min)},
         {"ray_median_mm", mm_number(w->ray_median)},
         {"histogram", {{"step_mm", mm_number(w->histogram.step)}, {"share", Json::array()}}},
         {"thin",
          {{"limit_mm", mm_number(w->limit)},
           {"limit_from", row.limit_from},
           {"area_mm2", mm2(w->thin_area)},
           {"share", number(w->thin_share)}}},
         {"spots", Json::array()}};
  for (const double s : w->histogram.share) j["histogram"]["share"].push_back(number(s));
  for (const SpotRow& s : row.spots) j["spots"].push_back(spot(s, w->of == WallsOf::piece));
  return j;
}

Json release(const std::optional<Release>& r) {
  if (!r) return nullptr;
  Json j{{"pull", point(r->pull.direction)},
         {"opening", name(r->opening)},
         {"opening_mm2", mm2(r->opening_area)},
         {"wall_mm2", mm2(r->wall)},
         {"undercut_mm2", mm2(r->pull.undercut)},
         {"undercut_share", number(r->pull.share)},
         {"undercut_depth_mm", mm_number(r->pull.depth)},
         {"min_draft_deg", number(r->pull.min_draft_degrees)},
         {"min_draft_at_mm", point(r->pull.min_draft_at)},
         {"undercuts", Json::array()},
         {"best_pull", point(r->best.direction)},
         {"best_undercut_mm2", mm2(r->best.undercut)},
         {"best_min_draft_deg", number(r->best.min_draft_degrees)},
         {"best_is_turned", r->best_is_turned},
         {"leaves_rigid", r->leaves_rigid},
         {"leaves_flexible", r->leaves_flexible},
         {"stretch", number(r->stretch)}};
  for (const Undercut& u : r->pull.places)
    j["undercuts"].push_back({{"area_mm2", mm2(u.area)},
                              {"depth_mm", mm_number(u.depth)},
                              {"at_mm", point(u.at)},
                              {"stretch", number(u.stretch)}});
  j["two_parts"] = r->parting ? Json{{"axis", point(r->parting->axis)},
                                     {"undercut_mm2", mm2(r->parting->undercut)},
                                     {"undercut_share", number(r->parting->share)}}
                              : Json(nullptr);
  return j;
}

}  // namespace

std::string inspect_json(const InspectReport& r) {
  Json files = Json::array();
  for (const InspectRow& f : r.files) {
    Json j = measured_file(f.measured);
    j["walls"] = walls(f);
    j["release"] = release(f.release);
    j["limits"] = Json::array();
    for (const LimitRow& l : f.limits)
      j["limits"].push_back({{"limit", l.limit}, {"exceeded", l.exceeded}, {"text", l.text}});
    files.push_back(std::move(j));
  }
  const Handling& h = r.handling;
  Json j;
  j["schema"] = "pourwright.inspect/1";
  j["material"] = {{"name", r.mix.name}, {"density_g_per_ml", in_grams_per_millilitre(r.mix.density)}};
  j["demold"] = {{"age_min", number(in_minutes(r.time.age))},
                 {"room_c", number(in_celsius(r.time.room))},
                 {"age_at_20_min", number(in_minutes(r.time.age_at_20))},
                 {"strength_mpa", number(r.time.strength_mpa)},
                 {"strength_from", r.strength.from},
                 {"strength_measured", r.strength.measured},
                 {"safety", number(h.safety)},
                 {"peel_n_per_mm", number(h.peel_n_per_mm)},
                 {"pry_n", number(h.pry_n)},
                 {"pry_contact_mm", mm_number(h.pry_contact)}};
  j["notes"] = notes(r.notes);
  j["files"] = std::move(files);
  j["cautions"] = r.cautions;
  return finish(j);
}

}  // namespace pourwright
