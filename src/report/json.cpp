// SPDX-License-Identifier: GPL-3.0-or-later
// Measurements, cards and recipes for programs. The law: a key is never renamed within a schema number.
#include <pourwright/report.hpp>

#include "report/json_values.hpp"
#include "report/measured_json.hpp"

#include <cmath>
#include <numeric>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace pourwright {
using namespace json;

namespace {

Json marks(const std::vector<FillMark>& table) {
  Json j = Json::array();
  for (const FillMark& m : table)
    j.push_back({{"share", m.share},
                 {"level_z_mm", number(in_millimetres(m.level))},
                 {"volume_mm3", number(in_cubic_millimetres(m.volume))},
                 {"surface_mm2", number(in_square_millimetres(m.surface))}});
  return j;
}

Json cavity(const Cavity& c, bool looked) {
  Json j;
  j["id"] = c.id;
  j["parent"] = c.parent > 0 ? Json(c.parent) : Json(nullptr);
  j["kind"] = name(c.kind);
  j["filled"] = c.filled;
  j["capacity_mm3"] = interval(c.capacity);
  j["brim_z_mm"] = number(in_millimetres(c.brim));
  j["floor_z_mm"] = number(in_millimetres(c.floor));
  j["opening_mm2"] = number(in_square_millimetres(c.opening));
  j["air_traps"] = nullptr;
  if (looked) {
    j["air_traps"] = Json::array();
    for (const AirTrap& t : c.air_traps)
      j["air_traps"].push_back(
          {{"volume_mm3", number(in_cubic_millimetres(t.volume))},
           {"lip_z_mm", number(in_millimetres(t.lip))},
           {"vent_mm", point(t.vent)},
           {"vent_length_mm", t.vent_length ? number(in_millimetres(*t.vent_length)) : Json(nullptr)},
           {"tops", t.tops}});
  }
  j["usable_mm3"] = number(in_cubic_millimetres(c.usable));
  j["fill_table"] = marks(c.fill_table);
  j["level_z_mm"] = c.level ? number(in_millimetres(*c.level)) : Json(nullptr);
  return j;
}

Json material(const Mix& mix) {
  const auto in_min = [](Duration d) { return d > Duration() ? number(in_minutes(d)) : Json(nullptr); };
  return {{"name", mix.name},
          {"ratio", mix.ratio.value()},
          {"density_g_per_ml", number(in_grams_per_millilitre(mix.density))},
          {"density_from", name(mix.density_from)},
          {"density_spread", mix.density_spread.value()},
          {"weighed", is_weighed(mix)},
          {"workshop", mix.workshop.empty() ? Json(nullptr) : Json(mix.workshop)},
          {"working_min", in_min(mix.working_time)},
          {"demold_min", in_min(mix.demold_time)},
          {"times_at_c", number(in_celsius(mix.times_at))}};
}

/// The largest step of which every part is a whole number.
Mass step_of_all(Mass step, const std::vector<Part>& parts) {
  for (const Part& p : parts)
    if (p.step > Mass()) step = Mass::micrograms(std::gcd(step.in_micrograms(), p.step.in_micrograms()));
  return step;
}

Json cost(const std::optional<BatchCost>& c) {
  if (!c) return nullptr;
  return {
      {"currency", c->currency.code}, {"total", money_text(c->total, c->currency)}, {"without", c->missing}};
}

}  // namespace

namespace json {

Json point(const Point& p) {
  return {number(p[0]), number(p[1]), number(p[2])};
}

Json measured_file(const MeasureRow& f) {
  Json j;
  put_path(j, f.path);
  j["ok"] = f.ok();
  j["unit"] = name(f.unit);
  j["unit_from"] = name(f.unit_from);
  j["triangles"] = f.triangles;
  j["shells"] = f.shells;
  j["closed"] = f.closed;
  j["read_as"] = f.reading ? Json(name(f.reading->chosen)) : Json(nullptr);
  j["read_as_doubt"] = f.reading ? number(f.reading->doubt) : Json(nullptr);
  j["read_as_because"] = f.reading ? Json(f.reading->why) : Json::array();
  j["doubt"] = Json::array();
  for (const Alternative& a : f.doubt)
    j["doubt"].push_back({{"about", a.about},
                          {"says", a.says},
                          {"option", a.option},
                          {"fill_mm3", a.fill ? number(in_cubic_millimetres(*a.fill)) : Json(nullptr)}});
  j["up"] = point(f.up);
  j["bounds_mm"] = f.bounds ? Json{point((*f.bounds)[0]), point((*f.bounds)[1])} : Json(nullptr);
  j["solid"] =
      f.solid
          ? Json{{"volume_mm3", interval(f.solid->volume)},
                 {"area_mm2", f.solid->area ? number(in_square_millimetres(*f.solid->area)) : Json(nullptr)}}
          : Json(nullptr);
  j["cavities"] = Json::array();
  for (const Cavity& c : f.cavities) j["cavities"].push_back(cavity(c, f.drains.has_value()));
  j["fill_mm3"] = f.fill && !f.read_as(Reading::piece) ? interval(*f.fill) : Json(nullptr);
  j["drains"] = nullptr;
  if (f.drains) {
    j["drains"] = Json::array();
    for (const Drain& d : *f.drains)
      j["drains"].push_back(
          {{"kind", name(d.kind)},
           {"would_hold_mm3", number(in_cubic_millimetres(d.would_hold))},
           {"throat_mm2", d.throat ? number(in_square_millimetres(*d.throat)) : Json(nullptr)},
           {"at_mm", point(d.at)}});
  }
  j["ceiling"] = f.ceiling ? Json{{"angle_deg", number(f.ceiling->angle_degrees)},
                                  {"area_mm2", number(in_square_millimetres(f.ceiling->area))},
                                  {"share", number(f.ceiling->share)}}
                           : Json(nullptr);
  j["tilt"] = Json::array();
  for (const TiltLoss& t : f.tilt)
    j["tilt"].push_back(
        {{"deg", t.degrees}, {"azimuth_deg", t.azimuth_degrees}, {"lost_share", number(t.share)}});
  j["mended"] = Json::array();
  for (const Mended& m : f.mended)
    j["mended"].push_back({{"code", name(m.what)},
                           {"count", m.count},
                           {"volume_change_mm3", number(in_cubic_millimetres(m.volume_change))}});
  j["notes"] = notes(f.notes);
  j["error"] = problem(f.error);
  return j;
}

}  // namespace json

std::string measure_json(const MeasureReport& report) {
  Json files = Json::array();
  for (const MeasureRow& f : report.files) files.push_back(measured_file(f));
  return finish({{"schema", "pourwright.measure/1"}, {"files", std::move(files)}});
}

namespace {

Json running_short(const std::optional<RunningShort>& r) {
  if (!r) return nullptr;
  return {{"chance", number(r->chance)},
          {"stated", r->stated.value()},
          {"covered", r->covered()},
          {"expected_g", number(r->expected.in_grams())},
          {"residue_g", number(r->residue.in_grams())},
          {"pours", r->pours},
          {"cups", r->cups}};
}

/// The answers to a question that nobody was there to give.
Json answers_to(const Question& q) {
  Json out = Json::array();
  for (const Question::Answer& a : q.answers)
    out.push_back({{"says", a.says},
                   {"option", a.option},
                   {"fill_mm3", interval(a.fill)},
                   {"mix_g", grams(a.recipe.mix)},
                   {"parts", parts(a.recipe.parts)}});
  return out;
}

}  // namespace

std::string card_json(const CardReport& r) {
  Json molds = Json::array(), failures = Json::array();
  for (const CardMold& m : r.molds) {
    Json j;
    put_path(j, m.path);
    j["copies"] = m.copies;
    j["fill_mm3"] = interval(m.fill);
    j["mix_g"] = interval(m.weighed.mix);
    j["parts"] = parts(m.weighed.parts);
    j["how"] = m.how;
    j["fill_tables"] = Json::array();
    for (const CardMold::Table& t : m.fill_tables)
      j["fill_tables"].push_back(
          {{"cavity", t.cavity}, {"floor_z_mm", number(in_millimetres(t.floor))}, {"marks", marks(t.marks)}});
    j["notes"] = notes(m.notes);
    molds.push_back(std::move(j));
  }
  for (const auto& e : r.errors) {
    Json j;
    put_path(j, e.path);
    j.update(problem(e.problem));
    for (const Question& q : r.questions)
      if (q.refused && q.path == e.path) j["doubt"] = answers_to(q);
    failures.push_back(std::move(j));
  }
  Notes all = r.notes;
  all.insert(all.end(), r.total.notes.begin(), r.total.notes.end());
  Json j;
  j["schema"] = "pourwright.card/1";
  j["material"] = material(r.mix);
  j["scale"] = r.scale.empty() ? Json(nullptr) : Json(r.scale);
  j["scale_step_g"] = grams(step_of_all(r.scale_step, r.total.parts));
  j["allowance"] = r.allowance.value();
  j["allowance_from"] = r.running_short ? Json(r.running_short->fixed ? "given" : "forecast") : Json(nullptr);
  j["running_short"] = running_short(r.running_short);
  j["molds"] = std::move(molds);
  j["total"] = {{"mix_g", grams(r.total.mix)},
                {"parts", parts(r.total.parts)},
                {"ratio_weighed", r.molds.empty() ? Json(nullptr) : Json(r.total.ratio_weighed.value())}};
  j["cost"] = cost(r.cost);
  j["cautions"] = r.cautions;
  j["notes"] = notes(all);
  j["errors"] = std::move(failures);
  return finish(j);
}

std::string mix_json(const MixReport& report) {
  const Recipe& r = report.recipe;
  Json j;
  j["schema"] = "pourwright.mix/1";
  j["material"] = material(report.mix);
  j["scale"] = report.scale.empty() ? Json(nullptr) : Json(report.scale);
  j["scale_step_g"] = grams(step_of_all(report.scale_step, r.parts));
  j["mix_g"] = grams(r.mix);
  j["parts"] = parts(r.parts);
  j["ratio_asked"] = r.ratio_asked.value();
  j["ratio_weighed"] = r.ratio_weighed.value();
  j["cost"] = cost(report.cost);
  j["cautions"] = report.cautions;
  j["notes"] = notes(r.notes);
  return finish(j);
}

std::string problem_json(const Problem& p) {
  return finish({{"schema", "pourwright.error/1"}, {"error", problem(p)}});
}

namespace {

Json components(const Mix& mix) {
  Json out = Json::array();
  for (const Component& c : mix.components)
    out.push_back({{"name", c.name},
                   {"kind", name(c.kind)},
                   {"per_liquid", c.per_liquid > Ratio() ? Json(c.per_liquid.value()) : Json(nullptr)},
                   {"share", c.share > Ratio() ? Json(c.share.value()) : Json(nullptr)}});
  return out;
}

}  // namespace

std::string mixes_json(const Catalogue& catalogue) {
  Json mixes = Json::array();
  for (const Mix& m : catalogue.mixes)
    mixes.push_back({{"key", m.key},
                     {"name", m.name},
                     {"description", m.description},
                     {"ratio", m.ratio.value()},
                     {"density_g_per_ml", number(in_grams_per_millilitre(m.density))},
                     {"density_from", name(m.density_from)},
                     {"components", components(m)}});
  return finish(
      {{"schema", "pourwright.mixes/1"}, {"default", catalogue.default_mix}, {"mixes", std::move(mixes)}});
}

std::string template_json(std::string_view path, std::string_view text) {
  return finish({{"schema", "pourwright.template/1"},
                 {"path", path.empty() ? Json(nullptr) : Json(path)},
                 {"text", path.empty() ? Json(text) : Json(nullptr)}});
}

std::string explain_json(const std::vector<NoteInfo>& codes) {
  Json list = Json::array();
  for (const NoteInfo& c : codes) list.push_back({{"code", c.code}, {"explain", c.explain}});
  return finish({{"schema", "pourwright.explain/1"}, {"codes", std::move(list)}});
}

std::string doctor_json(const SelfDescription& self) {
  Json workshop = nullptr;
  if (const auto& w = self.workshop)
    workshop = {
        {"folder", w->folder},     {"remembered", w->remembered}, {"mixes", Json(w->mixes)},
        {"pigments", w->pigments}, {"scales", w->scales},         {"leftover_molds", w->leftover_molds},
        {"supplies", w->supplies}, {"records", w->records},       {"ledger_whole", !w->damage}};
  return finish({{"schema", "pourwright.doctor/1"},
                 {"version", self.version},
                 {"geometry", self.geometry},
                 {"formats", self.formats},
                 {"mixes", self.mixes},
                 {"workshop", std::move(workshop)}});
}

std::string version_json(std::string_view version) {
  return finish({{"schema", "pourwright.version/1"}, {"version", version}, {"licence", "GPL-3.0-or-later"}});
}

std::string completion_json(std::string_view shell, std::string_view script) {
  return finish({{"schema", "pourwright.completion/1"}, {"shell", shell}, {"script", script}});
}

}  // namespace pourwright
