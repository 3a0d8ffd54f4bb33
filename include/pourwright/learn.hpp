// SPDX-License-Identifier: GPL-3.0-or-later
// What the records of a workshop say: how much its molds hold, what its mix weighs, what stays in its cups,
// and from these the smallest batch that runs short no more often than a stated chance.
// docs/algorithms/learning.md.
#pragma once

#include <pourwright/ledger.hpp>
#include <pourwright/material.hpp>

#include <string>
#include <utility>
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
/// as made strays from its file. A fill more than a tenth from the mesh cannot be right: it is set aside,
/// from the first on, with the slip it may be, unless it is believed; then the mesh gives way. Three or more
/// fills name the one that contradicts them; two that disagree widen u. `others` are molds it might have
/// been. Precondition: a mesh or a fill; every record is a water fill.
Estimate<Volume> capacity_of(const std::optional<Interval<Volume>>& mesh, const std::vector<Record>& fills,
                             const std::vector<std::pair<std::string, Volume>>& others = {});

/// The catalogue's density and the cups weighed by their precision; a cup that cannot be right is set aside
/// as a water fill is. Precondition: every record is a density cup.
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

/// What is poured and how, beside the molds.
struct PourPlan {
  int cups = 1;                    ///< that the batch is mixed and poured in
  Density density;                 ///< of the mix, by the catalogue or as given
  double spread = 0;               ///< relative half width in which that is believed to lie
  bool same_lots = false;          ///< the density was given for this pour: no lot changes it
  Mass residue;                    ///< that the workshop says stays in each cup; zero: not said
  Ratio risk = Ratio::percent(1);  ///< the chance of running short that is asked for
};

/// Records of one mix, each list by number.
struct PourHistory {
  std::vector<Record> cups, pours;
  std::vector<Record> lots;  ///< of its powder
};

/// What one batch will need, from records and from common practice where there are none.
struct Forecast {
  double expected_g = 0;  ///< mean of what goes into the molds and stays in the cups
  double spread_g = 0;    ///< its standard deviation for the next pour
  double batch_g = 0;     ///< the least that runs short no more often than `risk`
  Ratio risk;
  double fill_g = 0;                         ///< of expected_g, what stays in the molds
  double residue_g = 0;                      ///< of expected_g, what stays in the cups
  int pours = 0;                             ///< used
  int of_these_molds = 0;                    ///< of those, with a mold that is poured now
  int cups = 0;                              ///< cup tests used
  Estimate<Density> density;                 ///< after the records
  std::vector<Estimate<Volume>> capacities;  ///< after the pours, in the order of the molds
  Uncertain residue_per_cup_g;
  Uncertain residue_share;  ///< of what is mixed, beyond the cups' own
  Uncertain scatter;        ///< from pour to pour, as a share of this batch
  std::string lot;          ///< of the powder that is open now; empty: not said
  std::vector<std::int64_t> set_aside;
  Notes notes;

  /// The need of the next pour as a mixture of normals; what its quantiles and chances are taken from.
  struct Part {
    double weight, mean_g, sd_g;
  };
  std::vector<Part> need;
  /// The chance that `batch_g` grams run short.
  double chance_of_short(double grams) const;
};

/// need = density × capacity + residue, each with its doubt, followed record by record: the density may stray
/// from lot to lot, the scatter is integrated out numerically, so that few pours give wide tails, and now and
/// then a pour takes more for no reason that is written down. Fails when there is no mold, a capacity or the
/// density is not positive, or the risk is outside 0.01 to 50 %. Precondition: records are of the mix.
Expected<Forecast> forecast_need(const std::vector<MoldToPour>& molds, const PourPlan& plan,
                                 const PourHistory& history);

}  // namespace pourwright
