// SPDX-License-Identifier: GPL-3.0-or-later
// What the temperature of the room does to a mix. Nothing shifts without a note.
#include <pourwright/material.hpp>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr double coldest = 5, hottest = 35;  // °C, where the rule ends

/// The nearest temperature at which a time was found, and that time.
struct Found {
  Duration time;
  Temperature at;
};
Found nearest(Duration stated, Temperature stated_at, const std::vector<RoomPoint>& rooms,
              Duration RoomPoint::*time, Temperature room) {
  const auto away = [&](Temperature t) { return std::abs(in_celsius(t) - in_celsius(room)); };
  Found best{stated, stated_at};
  for (const RoomPoint& p : rooms)
    if (p.*time > Duration() && (best.time <= Duration() || away(p.at) < away(best.at)))
      best = {p.*time, p.at};
  return best;
}

std::string degrees(Temperature t) {
  return fmt::format("{:.3g} °C", in_celsius(t));
}

std::string whole_minutes(Duration d) {
  return fixed(in_minutes(d), 0);
}

/// "17 min to pour (14 at 20 °C)"
void say_time(std::string_view what, const Found& from, Duration now, Temperature room, std::string& text) {
  if (from.time <= Duration()) return;
  if (!text.empty()) text += ", ";
  text += fmt::format("{} min {}", whole_minutes(now), what);
  text += from.at == room ? " (found there)"
                          : fmt::format(" ({} at {})", whole_minutes(from.time), degrees(from.at));
}

}  // namespace

double room_pace(Temperature room, Temperature than) {
  const auto within = [](Temperature t) { return std::clamp(in_celsius(t), coldest, hottest); };
  return std::exp2((within(room) - within(than)) / 10.0);
}

Duration at_room(Duration stated, Temperature room, Temperature at) {
  return stated * (1 / room_pace(room, at));
}

MixInRoom in_room(const Mix& mix, Temperature room) {
  MixInRoom out{mix, {}, {}};
  const Found working = nearest(mix.working_time, mix.times_at, mix.rooms, &RoomPoint::working_time, room),
              demold = nearest(mix.demold_time, mix.times_at, mix.rooms, &RoomPoint::demold_time, room);
  out.mix.working_time = at_room(working.time, room, working.at);
  out.mix.demold_time = at_room(demold.time, room, demold.at);
  out.mix.times_at = room;
  std::string times;
  say_time("to pour", working, out.mix.working_time, room, times);
  say_time("to demold", demold, out.mix.demold_time, room, times);
  const bool shifted =
      (working.time > Duration() && working.at != room) || (demold.time > Duration() && demold.at != room);
  const bool stated = working.at == mix.times_at && demold.at == mix.times_at;
  if (!times.empty() && (shifted || !stated))
    out.times.push_back({"times-at-room",
                         fmt::format("at {}: {}{}", degrees(room), times,
                                     shifted ? "; halved for every 10 °C more, a guide from 5 to 35 °C" : ""),
                         false});
  if (shifted && (in_celsius(room) < coldest || in_celsius(room) > hottest))
    out.times.push_back({"room-outside-rule",
                         fmt::format("the rule for times ends at {:.0f} °C: try a small batch at {} first",
                                     in_celsius(room) > hottest ? hottest : coldest, degrees(room)),
                         true});
  for (const RoomPoint& p : mix.rooms) {
    if (!p.ratio || std::abs(in_celsius(p.at) - in_celsius(room)) > 2 || *p.ratio == mix.ratio) continue;
    out.mix.ratio = *p.ratio;
    out.mix.density = poured_density(out.mix);
    out.ratio = Note{"ratio-of-room",
                     fmt::format("ratio {:.6g}, as found at {}; {:.6g} elsewhere", p.ratio->value(),
                                 degrees(p.at), mix.ratio.value()),
                     false};
    break;
  }
  return out;
}

}  // namespace pourwright
