// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/report.hpp>

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace pourwright {
namespace {

using Json = nlohmann::ordered_json;

/// Finite or null: RFC 8259 has no other numbers.
Json number(double v) {
  return std::isfinite(v) ? Json(v + 0.0) : Json(nullptr);
}  // + 0.0: no "-0"
Json grams(Mass m) {
  return m.in_micrograms() % 1'000'000 == 0 ? Json(m.in_micrograms() / 1'000'000) : Json(m.in_grams());
}

Json interval(const Interval<Volume>& v) {
  return {{"value", number(in_cubic_millimetres(v.value))},
          {"low", number(in_cubic_millimetres(v.low))},
          {"high", number(in_cubic_millimetres(v.high))}};
}
Json interval(const Interval<Mass>& v) {
  return {{"value", grams(v.value)}, {"low", grams(v.low)}, {"high", grams(v.high)}};
}

bool is_utf8(std::string_view s) {
  try {
    (void)Json(std::string(s)).dump();
    return true;
  } catch (const Json::type_error&) {
    return false;
  }
}

std::string base64(std::string_view s) {
  static constexpr char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < s.size(); i += 3) {
    const std::size_t n = std::min<std::size_t>(3, s.size() - i);
    std::uint32_t v = 0;
    for (std::size_t k = 0; k < 3; ++k) v = v << 8 | (k < n ? static_cast<unsigned char>(s[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k) out += k <= n ? digits[v >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

/// Any byte string is a file name; JSON is UTF-8. The exact bytes are given beside a readable form.
void put_path(Json& j, const std::string& path) {
  j["path"] = path;
  if (!is_utf8(path)) j["path_base64"] = base64(path);
}

Json notes(const Notes& list) {
  Json out = Json::array();
  for (const Note& n : list) out.push_back({{"code", n.code}, {"text", n.text}, {"warning", n.warning}});
  return out;
}

Json problem(const std::optional<Problem>& p) {
  if (!p) return nullptr;
  return {{"code", info(p->code).slug}, {"text", p->text}, {"hint", p->hint}};
}

Json parts(const std::vector<Part>& list) {
  Json out = Json::array();
  for (const Part& p : list) out.push_back({{"name", p.name}, {"g", grams(p.mass)}});
  return out;
}

/// The library's own writer is not always shortest (0.000649 becomes 0.0006489999999999999), so that printed
/// parts would not add up; fmt's is. Malformed UTF-8 in strings becomes U+FFFD.
void write(const Json& j, std::string& out, std::size_t indent) {
  if (j.is_number_float()) {
    out += fmt::format("{}", j.get<double>());
  } else if (j.is_structured() && !j.empty()) {
    const std::string margin(indent + 1, ' ');
    std::string_view before = j.is_object() ? "{\n" : "[\n";
    for (const auto& [key, value] : j.items()) {
      out += before;
      out += margin;
      if (j.is_object()) out += Json(key).dump(-1, ' ', false, Json::error_handler_t::replace) + ": ";
      write(value, out, indent + 1);
      before = ",\n";
    }
    out += "\n" + std::string(indent, ' ') + (j.is_object() ? "}" : "]");
  } else {
    out += j.dump(-1, ' ', false, Json::error_handler_t::replace);
  }
}

std::string finish(const Json& j) {
  std::string out;
  write(j, out, 0);
  return out + "\n";
}

Json point(const Point& p) {
  return {number(p[0]), number(p[1]), number(p[2])};
}

Json cavity(const CavityRow& c) {
  Json j;
  j["id"] = c.id;
  j["parent"] = c.parent > 0 ? Json(c.parent) : Json(nullptr);
  j["kind"] = c.kind;
  j["filled"] = c.filled;
  j["capacity_mm3"] = interval(c.capacity);
  j["brim_z_mm"] = number(in_millimetres(c.brim));
  j["floor_z_mm"] = number(in_millimetres(c.floor));
  j["opening_mm2"] = number(in_square_millimetres(c.opening));
  j["air_traps"] = nullptr;
  if (c.air_traps) {
    j["air_traps"] = Json::array();
    for (const CavityRow::Trap& t : *c.air_traps)
      j["air_traps"].push_back(
          {{"volume_mm3", number(in_cubic_millimetres(t.volume))},
           {"lip_z_mm", number(in_millimetres(t.lip))},
           {"vent_mm", point(t.vent)},
           {"vent_length_mm", t.vent_length ? number(in_millimetres(*t.vent_length)) : Json(nullptr)},
           {"tops", t.tops}});
  }
  j["usable_mm3"] = number(in_cubic_millimetres(c.usable));
  j["fill_table"] = Json::array();
  for (const CavityRow::Mark& m : c.fill_table)
    j["fill_table"].push_back({{"share", m.share},
                               {"level_z_mm", number(in_millimetres(m.level))},
                               {"volume_mm3", number(in_cubic_millimetres(m.volume))},
                               {"surface_mm2", number(in_square_millimetres(m.surface))}});
  return j;
}

}  // namespace

std::string measure_json(const MeasureReport& report) {
  Json files = Json::array();
  for (const MeasureRow& f : report.files) {
    Json j;
    put_path(j, f.path);
    j["ok"] = f.ok();
    j["unit"] = f.unit;
    j["unit_from"] = f.unit_from;
    j["triangles"] = f.triangles;
    j["shells"] = f.shells;
    j["closed"] = f.closed;
    j["read_as"] = f.read_as.empty() ? Json(nullptr) : Json(f.read_as);
    j["up"] = point(f.up);
    j["bounds_mm"] = f.bounds ? Json{point((*f.bounds)[0]), point((*f.bounds)[1])} : Json(nullptr);
    j["solid"] = f.solid ? Json{{"volume_mm3", interval(f.solid->volume)},
                                {"area_mm2", number(in_square_millimetres(f.solid->area))}}
                         : Json(nullptr);
    j["cavities"] = Json::array();
    for (const CavityRow& c : f.cavities) j["cavities"].push_back(cavity(c));
    j["fill_mm3"] = f.fill ? interval(*f.fill) : Json(nullptr);
    j["drains"] = nullptr;
    if (f.drains) {
      j["drains"] = Json::array();
      for (const DrainRow& d : *f.drains)
        j["drains"].push_back(
            {{"kind", d.kind},
             {"would_hold_mm3", number(in_cubic_millimetres(d.would_hold))},
             {"throat_mm2", d.throat ? number(in_square_millimetres(*d.throat)) : Json(nullptr)},
             {"at_mm", point(d.at)}});
    }
    j["ceiling"] = f.ceiling ? Json{{"angle_deg", number(f.ceiling->angle_degrees)},
                                    {"area_mm2", number(in_square_millimetres(f.ceiling->area))},
                                    {"share", number(f.ceiling->share)}}
                             : Json(nullptr);
    j["tilt"] = Json::array();
    for (const TiltRow& t : f.tilt)
      j["tilt"].push_back(
          {{"deg", t.degrees}, {"azimuth_deg", t.azimuth_degrees}, {"lost_share", number(t.share)}});
    j["mended"] = Json::array();
    for (const MendRow& m : f.mended)
      j["mended"].push_back({{"code", m.code},
                             {"count", m.count},
                             {"volume_change_mm3", number(in_cubic_millimetres(m.volume_change))}});
    j["notes"] = notes(f.notes);
    j["error"] = problem(f.error);
    files.push_back(std::move(j));
  }
  return finish({{"schema", "pourwright.measure/1"}, {"files", std::move(files)}});
}

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
    j["notes"] = notes(m.notes);
    molds.push_back(std::move(j));
  }
  for (const auto& e : r.errors) {
    Json j;
    put_path(j, e.path);
    j.update(problem(e.problem));
    failures.push_back(std::move(j));
  }
  Notes all = r.notes;
  all.insert(all.end(), r.total.notes.begin(), r.total.notes.end());
  Json j;
  j["schema"] = "pourwright.card/1";
  j["material"] = {{"name", r.mix.name},
                   {"ratio", r.mix.ratio.value()},
                   {"density_g_per_ml", in_grams_per_millilitre(r.mix.density)},
                   {"density_from", name(r.mix.density_from)}};
  j["scale_step_g"] = grams(r.scale_step);
  j["allowance"] = r.allowance.value();
  j["molds"] = std::move(molds);
  j["total"] = {{"mix_g", grams(r.total.mix)},
                {"parts", parts(r.total.parts)},
                {"ratio_weighed", r.molds.empty() ? Json(nullptr) : Json(r.total.ratio_weighed.value())}};
  j["cautions"] = r.cautions;
  j["notes"] = notes(all);
  j["errors"] = std::move(failures);
  return finish(j);
}

std::string mix_json(const Recipe& r) {
  Json j;
  j["schema"] = "pourwright.mix/1";
  j["mix_g"] = grams(r.mix);
  j["parts"] = parts(r.parts);
  j["ratio_asked"] = r.ratio_asked.value();
  j["ratio_weighed"] = r.ratio_weighed.value();
  j["notes"] = notes(r.notes);
  return finish(j);
}

std::string split_json(const Split& s) {
  Json cups = Json::array();
  for (const FilledCup& c : s.cups) {
    Json j{
        {"name", c.name}, {"share", c.share.value()}, {"g", grams(c.mix)}, {"pigment_g", grams(c.pigment)}};
    j["pigments"] = parts(c.pigments);
    j["master_batches"] = Json::array();
    for (const MasterBatch& m : c.masters)
      j["master_batches"].push_back({{"pigment", m.pigment_name},
                                     {"pigment_g", grams(m.pigment)},
                                     {"mix_g", grams(m.mix)},
                                     {"take_g", grams(m.take)}});
    cups.push_back(std::move(j));
  }
  return finish({{"schema", "pourwright.split/1"},
                 {"mix_g", grams(s.mix)},
                 {"cups", std::move(cups)},
                 {"notes", notes(s.notes)}});
}

std::string problem_json(const Problem& p) {
  return finish({{"schema", "pourwright.error/1"}, {"error", problem(p)}});
}

std::string mixes_json(const Catalogue& catalogue) {
  Json mixes = Json::array();
  for (const Mix& m : catalogue.mixes)
    mixes.push_back({{"key", m.key},
                     {"name", m.name},
                     {"description", m.description},
                     {"ratio", m.ratio.value()},
                     {"density_g_per_ml", number(in_grams_per_millilitre(m.density))},
                     {"density_from", name(m.density_from)}});
  return finish(
      {{"schema", "pourwright.mixes/1"}, {"default", catalogue.default_mix}, {"mixes", std::move(mixes)}});
}

std::string explain_json(const std::vector<NoteInfo>& codes) {
  Json list = Json::array();
  for (const NoteInfo& c : codes) list.push_back({{"code", c.code}, {"explain", c.explain}});
  return finish({{"schema", "pourwright.explain/1"}, {"codes", std::move(list)}});
}

std::string doctor_json(const SelfDescription& self) {
  return finish({{"schema", "pourwright.doctor/1"},
                 {"version", self.version},
                 {"geometry", self.geometry},
                 {"formats", self.formats},
                 {"mixes", self.mixes}});
}

std::string version_json(std::string_view version) {
  return finish({{"schema", "pourwright.version/1"}, {"version", version}, {"licence", "GPL-3.0-or-later"}});
}

std::string completion_json(std::string_view shell, std::string_view script) {
  return finish({{"schema", "pourwright.completion/1"}, {"shell", shell}, {"script", script}});
}

}  // namespace pourwright
