// SPDX-License-Identifier: GPL-3.0-or-later
// What `setup` did: where the workshop is, what it mixes, and what to do next.
#include <pourwright/report_setup.hpp>

#include "report/json_values.hpp"
#include "report/phrases.hpp"

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string_view done_word(SetupReport::Did did) {
  switch (did) {
    case SetupReport::Did::made:
      return "made";
    case SetupReport::Did::found:
      return "found";
    case SetupReport::Did::forgotten:
      return "forgotten";
  }
  return "made";
}

}  // namespace

std::string setup_text(const SetupReport& r, const TextStyle& style) {
  Page page(style);
  if (r.did == SetupReport::Did::forgotten) {
    page.line(r.folder.empty()
                  ? std::string("No workshop was remembered.")
                  : fmt::format("Forgotten: {}. Its files stay where they are.", harmless(r.folder)));
    return page.take();
  }
  page.title("Workshop", r.did == SetupReport::Did::made ? "made and remembered" : "remembered");
  page.entry("Folder", harmless(r.folder));
  if (r.mix) {
    page.entry("Mix", phrases::mix_name(*r.mix));
    page.entry("", localized(fmt::format("{:.6g} {} to 1 of {} by mass, {} g/ml ±{:.2g} % ({})",
                                         r.mix->ratio.value(), harmless(r.mix->powder_name),
                                         harmless(r.mix->liquid_name),
                                         fixed(in_grams_per_millilitre(r.mix->density), 2),
                                         r.mix->density_spread.in_percent(), name(r.mix->density_from)),
                             style.decimal));
  }
  if (r.cup)
    page.entry("First cup",
               localized(fmt::format("{} g/ml, kept as record 1", fixed(in_grams_per_millilitre(*r.cup), 3)),
                         style.decimal));
  phrases::notes(page, r.notes, false, "Assumed");
  phrases::notes(page, r.notes, true, "Watch");
  page.entry("Now", "every command uses it, and says so; --workshop none does without");
  if (r.mix && !is_weighed(*r.mix))
    page.entry("Next", "weigh a full cup of known volume: pourwright learn cup --ml 200 --grams 372g");
  if (!r.file.empty())
    page.entry("More", fmt::format("prices, pigments and small molds go into {}", harmless(r.file)));
  return page.take();
}

std::string setup_json(const SetupReport& r) {
  using namespace json;
  return finish({{"schema", "pourwright.setup/1"},
                 {"did", done_word(r.did)},
                 {"folder", r.folder.empty() ? Json(nullptr) : Json(r.folder)},
                 {"file", r.file.empty() ? Json(nullptr) : Json(r.file)},
                 {"mix", r.mix ? Json(r.mix->name) : Json(nullptr)},
                 {"weighed", r.mix ? Json(is_weighed(*r.mix)) : Json(nullptr)},
                 {"cup_g_per_ml", r.cup ? number(in_grams_per_millilitre(*r.cup)) : Json(nullptr)},
                 {"notes", notes(r.notes)}});
}

}  // namespace pourwright
