// SPDX-License-Identifier: GPL-3.0-or-later
// What is believed before anything was measured. All of it is common practice, none of it a published value;
// each fades as records come in.
#pragma once

namespace pourwright::learn {

/// A mold strays from its file by shrinkage, print and wear; one standard deviation.
constexpr double mold_as_made = 0.010;
/// Where the water meets the brim, from fill to fill, and the same habit in every fill.
constexpr double brim_each = 0.003, brim_always = 0.0015;
/// A cup test: marks of the cup and air in the mix each time, and the same cup every time.
constexpr double cup_each = 0.010, cup_always = 0.004;
/// A scale whose step was not recorded.
constexpr double unsaid_step_g = 1.0;

/// What stays behind: 2 to 5 g in a scraped cup, 5 to 10 g in an unscraped one, a little more for large
/// batches.
constexpr double residue_per_cup_g = 5, residue_per_cup_u = 1.9;
constexpr double residue_share = 0.003, residue_share_u = 0.002;
/// Of a residue that the workshop states: how far off it may be, as a share of it and at least.
constexpr double residue_stated_u = 0.3, residue_stated_least_u = 0.5;

/// Scatter of the need from pour to pour: air, level and scraping. Careful hands 1 %, quick ones 3 %.
constexpr double scatter_share = 0.018, scatter_per_cup_g = 0.8;
/// A workshop's own scatter as a multiple of that: two out of three within a factor of 1.6.
constexpr double scatter_log_sd = 0.45;
/// One pour in twenty takes more, for a reason nobody writes down: a bulging mold, a spill, a heaped brim.
constexpr double odd_share = 0.05, odd_by = 0.04;

/// How far the density strays from one pour or cup to the next when nobody says which lot is open: a lot
/// of 2.5 % every 25 pours, spread over all of them.
constexpr double density_strays = 0.005;
/// And before a cup test without a lot: people test when they open one.
constexpr double density_strays_to_cup = 0.018;
/// The same within a lot that is named, and from one lot to the next.
constexpr double density_strays_in_lot = 0.001, lot_strays = 0.025;

/// Pours at another mixing ratio say little about this one.
constexpr double ratio_strays = 0.03;

}  // namespace pourwright::learn
