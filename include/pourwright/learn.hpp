// SPDX-License-Identifier: GPL-3.0-or-later
// What the records of a workshop say: how much its molds hold, what its mix weighs, what stays in its cups,
// and from these the smallest batch that runs short no more often than a stated chance.
// docs/algorithms/learning.md.
#pragma once

#include <pourwright/ledger.hpp>
#include <pourwright/material.hpp>

#include <string>
#include <vector>

namespace pourwright {

// ---- water ---------------------------------------------------------------------------------------------

/// Air-free water at 101.325 kPa, 0 to 40 °C (clamped). Tanaka, Girard, Davis, Peuto, Bignell, Metrologia 38
/// (2001) 301-309.
Density water_density(Temperature t);

struct Air {
  double pressure_hpa = 1013.25;
  double humidity_percent = 50;
  Temperature temperature = celsius(20);
};
/// OIML R 111-1:2004, E.3; within 2e-4 for 900 to 1100 hPa, 10 to 30 °C and up to 80 % humidity.
Density air_density(const Air& air);

/// The room that a gram of water on the scale takes, in ml: the Z factor of ISO 4787 and ISO 8655-6, for a
/// scale adjusted with weights of 8000 kg/m³.
double millilitres_per_gram(Temperature water, const Air& air);

// ---- estimates -----------------------------------------------------------------------------------------

template <class T>
struct Estimate {
  T value{};
  T u{};                                ///< standard uncertainty
  int records = 0;                      ///< that it rests on
  std::vector<std::int64_t> set_aside;  ///< records that contradict the others; each has a note
  Notes notes;
};

/// Mesh and water fills weighed by their precision. The mesh counts with its interval and with how far a mold
/// as made strays from its file. Three or more fills name the one that contradicts them; two that disagree
/// widen u. Precondition: a mesh or a fill; every record is a water fill.
Estimate<Volume> capacity_of(const std::optional<Interval<Volume>>& mesh, const std::vector<Record>& fills);

/// The catalogue's density and the cups weighed by their precision. Precondition: every record is a density
/// cup.
Estimate<Density> density_of(const Mix& mix, const std::vector<Record>& cups);

// ---- the batch -----------------------------------------------------------------------------------------

struct MoldToPour {
  std::string mold;
  int copies = 1;
  Estimate<Volume> capacity;  ///< of one copy
};

struct Uncertain {
  double value = 0, u = 0;
};

/// What one batch will need, from records and from common practice where there are none.
struct Forecast {
  double expected_g = 0;  ///< mean of what goes into the molds and stays in the cups
  double spread_g = 0;    ///< its standard deviation for the next pour
  double batch_g = 0;     ///< the least that runs short no more often than `risk`
  Ratio risk;
  double fill_g = 0;                         ///< of expected_g, what stays in the molds
  int pours = 0;                             ///< used
  int of_these_molds = 0;                    ///< of those, with a mold that is poured now
  Estimate<Density> density;                 ///< after the pours
  std::vector<Estimate<Volume>> capacities;  ///< after the pours, in the order of the molds
  Uncertain residue_per_cup_g;
  Uncertain residue_share;  ///< of what is mixed, beyond the cups' own
  Uncertain scatter;        ///< from pour to pour, as a share of this batch
  std::vector<std::int64_t> set_aside;
  Notes notes;
};

/// Bayesian linear model of need = density × capacity + residue, its scatter integrated out numerically, so
/// that few pours give wide tails (Student's t when nothing but the scatter is unknown). Fails when there is
/// no mold, a capacity or the density is not positive, or the risk is outside 0.01 to 50 %. Precondition:
/// every record is a pour of the mix.
Expected<Forecast> forecast_need(const std::vector<MoldToPour>& molds, int cups,
                                 const Estimate<Density>& density, const std::vector<Record>& pours,
                                 Ratio risk);

}  // namespace pourwright
