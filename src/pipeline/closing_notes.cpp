// SPDX-License-Identifier: GPL-3.0-or-later
// What closing did, counted and in sentences. Written from its values, once.
#include "pipeline/closing.hpp"

#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string volume_text(Volume v) {
  const double ml = std::abs(in_millilitres(v));
  if (ml < 0.1) return fmt::format("{:.2g} mm³", ml * 1000);
  return fmt::format("{:.2g} ml", ml);
}

/// One sentence that a person understands: what was done, the doubtful first, and what it may be worth.
void note_repair(const Measurable& m, Notes& notes) {
  if (m.steps.empty()) return;
  const auto share = [&](Volume v) { return m.enclosed > Volume() ? std::abs(v / m.enclosed) : 0; };
  std::string text;
  std::size_t told = 0;
  for (const RepairStep& s : m.steps) {
    if (told++ == 4 && m.steps.size() > 5) {
      text += fmt::format("; and {} more kinds of damage", m.steps.size() - 4);
      break;
    }
    text += (text.empty() ? "" : "; ") + s.text;
    if (share(s.change) >= 1e-4)
      text += fmt::format(": {}{}, {:.2g} %", s.change < Volume() ? "−" : "+", volume_text(s.change),
                          100 * share(s.change));
    if (share(s.doubt) >= 1e-4)
      text += fmt::format(" (±{}, {:.2g} %)", volume_text(s.doubt), 100 * share(s.doubt));
  }
  notes.push_back({"mended", text, share(m.mending_doubt) >= 0.01, Topic::mending});
}

void note_gap_closed(const Measurable& m, std::optional<Volume> left_open_holds, Notes& notes) {
  std::string text = fmt::format(
      "bodies lie less than {:.3g} mm apart and were joined: the gap between them, {}, was closed",
      in_millimetres(m.gap), volume_text(m.united->gap_volume));
  if (left_open_holds)
    text += fmt::format("; left open the mold would hold {:.1f} ml (--gap 0mm)",
                        in_millilitres(*left_open_holds));
  notes.push_back({"gap-closed", std::move(text), false, Topic::mending});
}

void note_union(const Measurable& m, Notes& notes) {
  const United& u = *m.united;
  if (u.gaps > 0 && m.gaps != Gaps::closed)
    notes.push_back({"united", "bodies that touch were united", false, Topic::mending});
  if (u.contacts > 0) {
    const std::string what = u.bodies > 1
                                 ? fmt::format("{} bodies overlap or touch and were united", u.bodies)
                                 : std::string("the surface cut or touched itself and was put right");
    const bool counts = u.overlap > u.volume * 1e-5;
    notes.push_back({"united",
                     what + (counts ? fmt::format("; {} was there twice", volume_text(u.overlap)) : ""),
                     false, Topic::mending});
  }
  if (u.copies > 0)
    notes.push_back(
        {"united",
         fmt::format("{} there twice, not quite in one place; one was kept, the other would add {}",
                     u.copies == 1 ? "a body is" : fmt::format("{} bodies are", u.copies),
                     volume_text(u.copies_add)),
         true, Topic::mending});
  if (u.turned > 0)
    notes.push_back({"inverted",
                     fmt::format("{} inside out and turned",
                                 u.turned == 1 ? "1 shell was" : fmt::format("{} shells were", u.turned)),
                     u.contacts > 0});  // material, or a tool to be cut out?
}

}  // namespace

std::vector<Mended> mended_by(const Measurable& m, bool joined) {
  std::vector<Mended> out;
  if (const auto& u = m.united) {
    if (m.gaps == Gaps::closed && joined) out.push_back({Mending::gap_closed, u->gaps, u->gap_volume});
    if (u->contacts > 0) out.push_back({Mending::united, u->bodies, -u->overlap});
    if (u->copies > 0) out.push_back({Mending::copies_dropped, u->copies, Volume()});
    if (u->turned > 0) out.push_back({Mending::shells_turned, u->turned, Volume()});
  }
  for (const RepairStep& s : m.steps) out.push_back({s.what, s.count, s.change});
  return out;
}

Notes closing_notes(const Measurable& m, bool joined, std::optional<Volume> left_open_holds) {
  Notes notes;
  note_repair(m, notes);
  notes.insert(notes.end(), m.proven.begin(), m.proven.end());
  if (m.columns)
    notes.push_back({"columns",
                     "surfaces overlap and could not be united: the volume was measured by columns", true,
                     Topic::mending});
  // Bodies that could not be joined: whatever the file is read as, a mold of them would leak.
  if (m.gaps == Gaps::left)
    notes.push_back({"gap-left",
                     fmt::format("bodies lie less than {:.3g} mm apart, and could not be joined: liquid may "
                                 "run out between them",
                                 in_millimetres(m.gap)),
                     true});
  if (m.gaps == Gaps::closed && !joined)
    notes.push_back(
        {"gap-left",
         fmt::format("bodies lie less than {:.3g} mm apart and are measured as they lie; were this a "
                     "mold, liquid might run out between them",
                     in_millimetres(m.gap)),
         true});
  if (m.gaps == Gaps::closed && joined) note_gap_closed(m, left_open_holds, notes);
  if (m.united) note_union(m, notes);
  return notes;
}

}  // namespace pourwright
