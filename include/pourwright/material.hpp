// SPDX-License-Identifier: GPL-3.0-or-later
// What is poured and what it is weighed with: mixes, pigments and scales, from TOML catalogues.
#pragma once

#include <pourwright/units.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// Where a density came from; printed with every card, because it decides how sure the grams are.
enum class DensityFrom : std::uint8_t { cup_test, components, generic, option, records };
std::string_view name(DensityFrom from);  ///< "cup test", "computed from components", "generic value",
                                          ///< "given", "records"

/// A two-part mix: the liquid is weighed first, the powder is `ratio` times the liquid that went in.
struct Mix {
  std::string key;   ///< catalogue key, lower-case words joined by '-': "boathouse-3.2"
  std::string name;  ///< "Boathouse 3.2"
  std::string description;
  std::string liquid_name = "liquid";
  std::string powder_name = "powder";
  Ratio ratio;           ///< powder per liquid, by mass
  Density density;       ///< of the poured mix
  Ratio density_spread;  ///< relative half width in which the density is believed to lie
  DensityFrom density_from = DensityFrom::generic;
  Duration working_time;              ///< at 20 °C; zero when the catalogue does not say
  Duration demold_time;               ///< at 20 °C; zero when the catalogue does not say
  Length min_wall = millimetres(3);   ///< thinner pieces of it are called thin
  double flexural_at_demold_mpa = 0;  ///< measured at the demold time; zero when nobody measured it
  Ratio pigment_ceiling;              ///< of the whole mix, by mass
  Ratio allowance;                    ///< added to every batch unless the user says otherwise
  std::vector<std::string> cautions;  ///< beyond the general ones
};

struct Pigment {
  std::string key, name;
  bool liquid = true;
};

/// A scale reads in whole steps up to its capacity.
struct Scale {
  std::string key, name;
  Mass step;
  Mass capacity;
};

/// What hands do to a piece while it leaves the mold, and how strong green gypsum is said to be.
struct Handling {
  double peel_n_per_mm = 0.03;           ///< pull of the mold along an edge that it is peeled from
  double pry_n = 1;                      ///< push at a tip or edge
  Length pry_contact = millimetres(10);  ///< over which a fingertip spreads it
  double safety = 3;                     ///< strength over stress for a low risk
  double green_flexural_mpa = 1.2;       ///< where the mix has no measured value
  Duration green_age = minutes(120);     ///< at which that was found
  std::string green_from = "GOST 125-79, grade G-2, the lowest";
  Ratio share_at_demold = Ratio::percent(33);  ///< of the wet strength it reaches, at its demold time
};

struct Catalogue {
  std::vector<Mix> mixes;
  std::vector<Pigment> pigments;
  std::vector<Scale> scales;
  std::string default_mix;           ///< key
  std::optional<Handling> handling;  ///< as far as a file says it
};

/// The generic mixes the program carries, invented demo workshop included. Never fails.
const Catalogue& built_in_catalogue();

/// Reads one catalogue text. Errors name the line and column, the unknown key and the nearest known one.
/// `label` is the file's name in messages. The format: docs/materials.md. `default_mix` is kept as written.
Expected<Catalogue> parse_catalogue(std::string_view toml, std::string_view label);

/// The built-in catalogue overlaid with every *.toml file directly in `folder`, in name order; entries with
/// the same key replace earlier ones. An empty path gives the built-in catalogue alone. `default_mix` is then
/// the key of a mix that exists.
Expected<Catalogue> load_catalogue(const std::filesystem::path& folder);

/// By key or by name, case and punctuation ignored. Failure suggests the nearest name.
Expected<Mix> find_mix(const Catalogue& catalogue, std::string_view name);

/// Density of liquid and powder mixed without air, from the components' own densities: (1+r)/(r/ρp+1/ρl).
Density mixture_density(Ratio ratio, Density powder, Density liquid);
/// The same with a volume share of air left in it.
Density with_air(Density air_free, Ratio air);

}  // namespace pourwright
