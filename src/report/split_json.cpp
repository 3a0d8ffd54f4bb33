// SPDX-License-Identifier: GPL-3.0-or-later
// Cups, techniques, leftovers and batch sheets for programs.
#include <pourwright/report_split.hpp>

#include "report/json_values.hpp"

#include <algorithm>

namespace pourwright {
using namespace json;

namespace {

Json cup(const FilledCup& c) {
  Json j{{"name", c.name}, {"share", c.share.value()}, {"g", grams(c.mix)}, {"pigment_g", grams(c.pigment)}};
  j["pigments"] = parts(c.pigments);
  for (std::size_t i = 0; i < c.pigments.size() && i < c.drops.size(); ++i)
    if (c.drops[i] > 0) j["pigments"][i]["drops"] = c.drops[i];
  j["master_batches"] = Json::array();
  for (const MasterBatch& m : c.masters)
    j["master_batches"].push_back({{"pigment", m.pigment_name},
                                   {"pigment_g", grams(m.pigment)},
                                   {"mix_g", grams(m.mix)},
                                   {"take_g", grams(m.take)},
                                   {"left_g", grams(m.left())}});
  return j;
}

Json cups(const std::vector<FilledCup>& list) {
  Json out = Json::array();
  for (const FilledCup& c : list) out.push_back(cup(c));
  return out;
}

Json order(const FilledStep& s) {
  Json out = Json::array();
  for (const Pouring& p : s.order)
    out.push_back({{"cup", s.cups[p.cup].name}, {"g", grams(p.mass)}, {"portions", p.portions}});
  return out;
}

Json leftovers(const std::optional<LeftoverPlan>& plan) {
  if (!plan) return nullptr;
  Json molds = Json::array();
  for (const LeftoverFill& f : plan->fills)
    molds.push_back({{"name", f.name}, {"count", f.count}, {"each_g", grams(f.each)}});
  return {{"molds", std::move(molds)}, {"chips_g", grams(plan->chips)}};
}

Json step(const FilledStep& s) {
  Json j{{"name", s.name},
         {"technique", name(s.technique)},
         {"plain_g", grams(s.plain)},
         {"carried_g", grams(s.carried)},
         {"carried_pigment", s.carried_pigment.value()}};
  j["cups"] = cups(s.cups);
  j["order"] = order(s);
  j["poured_g"] = grams(s.poured);
  j["residue_g"] = grams(s.residue);
  j["aside_g"] = grams(s.aside);
  j["left_g"] = grams(s.left);
  j["bucket_g"] = grams(s.bucket);
  j["from_min"] = number(in_minutes(s.from));
  j["to_min"] = number(in_minutes(s.to));
  return j;
}

Json sheet(const Record& r) {
  const auto& s = std::get<BatchSheet>(r.what);
  Json j{{"id", r.id},
         {"at", moment_text(r.at)},
         {"title", s.title},
         {"mix", s.mix},
         {"ratio", s.ratio.value()}};
  j["room_c"] = s.room ? number(in_celsius(*s.room)) : Json(nullptr);
  j["parts"] = j["molds"] = j["cups"] = Json::array();
  for (const auto& p : s.parts)
    j["parts"].push_back(
        {{"name", p.name}, {"kind", p.kind ? Json(name(*p.kind)) : Json(nullptr)}, {"g", grams(p.mass)}});
  for (const auto& m : s.molds)
    j["molds"].push_back({{"name", m.mold}, {"copies", m.copies}, {"g", grams(m.mix)}});
  for (const auto& c : s.cups) {
    Json doses = Json::array();
    for (const auto& d : c.doses) doses.push_back({{"pigment", d.pigment}, {"dose", d.dose.value()}});
    j["cups"].push_back(
        {{"name", c.name}, {"share", c.share.value()}, {"g", grams(c.mix)}, {"doses", std::move(doses)}});
  }
  j["dry_colour"] = s.dry_colour.empty() ? Json(nullptr) : Json(s.dry_colour);
  j["note"] = s.note;
  return j;
}

}  // namespace

std::string split_json(const SplitReport& r) {
  const PlannedSplit& p = r.plan;
  const bool one = p.steps.size() == 1 && p.bucket == Mass();
  Json j{{"schema", one ? "pourwright.split/1" : "pourwright.plan/1"}};
  if (!one) {
    j["title"] = r.title;
    j["mix_g"] = grams(p.mix);
    j["parts"] = r.base ? parts(r.base->parts) : Json(nullptr);
    j["steps"] = Json::array();
    for (const FilledStep& s : p.steps) j["steps"].push_back(step(s));
    j["left_g"] = grams(p.left);
    j["bucket_g"] = grams(p.bucket);
  } else {
    const FilledStep& s = p.steps[0];
    Mass in_cups;
    for (const FilledCup& c : s.cups) in_cups += c.mix;
    j["mix_g"] = grams(in_cups);
    j["parts"] = r.base ? parts(r.base->parts) : Json(nullptr);
    j["technique"] = name(s.technique);
    j["cups"] = cups(s.cups);
    j["order"] = order(s);
    j["poured_g"] = grams(s.poured);
    j["residue_g"] = grams(s.residue);
    j["aside_g"] = grams(s.aside);
    j["left_g"] = grams(s.left);
  }
  j["leftovers"] = leftovers(r.leftovers);
  j["notes"] = notes(r.notes);
  return finish(j);
}

std::string leftover_json(const LeftoverReport& r) {
  Json j{{"schema", "pourwright.leftover/1"}, {"left_g", grams(r.left)}};
  j["leftovers"] = leftovers(r.plan);
  j["notes"] = notes(r.notes);
  return finish(j);
}

std::string sheets_json(const std::vector<Record>& sheets) {
  Json list = Json::array();
  for (const Record& r : sheets) list.push_back(sheet(r));
  return finish({{"schema", "pourwright.sheets/1"}, {"sheets", std::move(list)}});
}

std::string repeat_json(const RepeatReport& r) {
  Json molds = Json::array();
  for (const RepeatReport::Row& m : r.molds)
    molds.push_back({{"name", m.mold}, {"copies", m.copies}, {"g", grams(m.mix)}});
  Json j{{"schema", "pourwright.repeat/1"}, {"sheet", sheet(r.record)}};
  j["mix_g"] = grams(r.weighed.recipe.mix);
  j["parts"] = parts(r.weighed.recipe.parts);
  j["molds"] = std::move(molds);
  j["cups"] = r.cups ? cups(r.cups->cups) : Json::array();
  j["steps"] = Json::array();
  if (r.steps)
    for (const FilledStep& s : r.steps->plan.steps) j["steps"].push_back(step(s));
  j["cautions"] = r.weighed.cautions;
  Notes all = r.weighed.recipe.notes;
  if (r.cups) all.insert(all.end(), r.cups->notes.begin(), r.cups->notes.end());
  j["notes"] = notes(all);
  return finish(j);
}

}  // namespace pourwright
