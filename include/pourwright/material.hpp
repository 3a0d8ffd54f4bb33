// SPDX-License-Identifier: GPL-3.0-or-later
// What is poured and what it is weighed with: mixes, pigments and scales, from TOML catalogues.
#pragma once

#include <pourwright/money.hpp>
#include <pourwright/units.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// Where a density came from; printed with every card, because it decides how sure the grams are.
enum class DensityFrom : std::uint8_t { cup_test, components, generic, option, records };
/// "cup test", "computed from components, not weighed", "table, not weighed", "given", "records"
std::string_view name(DensityFrom from);

/// What a part of a mix is. Up to `retarder` they are wet and go in before the powder; chips are cast pieces
/// that take up room but no pigment.
enum class ComponentKind : std::uint8_t { liquid, water, thickener, retarder, powder, filler, fibre, chips };
std::string_view name(ComponentKind kind);
constexpr bool is_wet(ComponentKind kind) {
  return kind <= ComponentKind::retarder;
}

/// What a weighed part is, for people and programs alike. Documents give `name` of it beside every part.
enum class PartKind : std::uint8_t { liquid, powder, pigment, component, water };
std::string_view name(PartKind kind);  ///< "liquid", "powder", "pigment", "component", "water"
/// By its name; nothing for another word.
std::optional<PartKind> part_kind(std::string_view word);
/// Added water is water; whatever else a mix has beside its liquid and its powder, chips too, is a component.
constexpr PartKind part_kind(ComponentKind kind) {
  return kind == ComponentKind::water ? PartKind::water : PartKind::component;
}
/// A part of the mix besides its liquid, its powder and its pigments.
constexpr bool is_further(PartKind kind) {
  return kind == PartKind::component || kind == PartKind::water;
}

/// A part of the mix besides its liquid and its powder. Exactly one of the two ratios is more than nothing.
struct Component {
  std::string name;
  ComponentKind kind = ComponentKind::filler;
  Ratio per_liquid;  ///< of the mass of the liquid
  Ratio share;       ///< of the mass of the whole mix
  std::optional<Density> density;
};

/// What a workshop has found at another temperature than 20 °C.
struct RoomPoint {
  Temperature at;
  std::optional<Ratio> ratio;
  Duration working_time, demold_time;  ///< zero: not said
};

/// The liquid is weighed first, the powder is `ratio` times the liquid that went in; further parts follow.
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
  Duration working_time;               ///< zero when the catalogue does not say
  Duration demold_time;                ///< zero when the catalogue does not say
  Temperature times_at = celsius(20);  ///< of the room; 20 °C in catalogues
  Length min_wall = millimetres(3);    ///< thinner pieces of it are called thin
  double flexural_at_demold_mpa = 0;   ///< measured at the demold time; zero when nobody measured it
  Ratio pigment_ceiling;               ///< of the whole mix, by mass
  std::optional<Ratio> allowance;      ///< added to every batch; nothing: what the forecast asks for
  std::vector<std::string> cautions;   ///< beyond the general ones
  std::vector<Component> components;   ///< in the order of weighing
  Density without_chips;               ///< as `density`, before chips were stirred in
  std::optional<Density> liquid_density, powder_density;  ///< when the density is computed from them
  Ratio air;                                              ///< by volume, in a density that is computed
  std::optional<Temperature> set_temperature;             ///< the hottest it gets as it sets
  std::vector<RoomPoint> rooms;
  std::string workshop;  ///< the folder whose files were read when it was chosen; empty: none
};

/// Whether its density was measured by whoever mixes it, or said by them; else it is an assumption, and every
/// page and document says so.
bool is_weighed(const Mix& mix);

struct Pigment {
  std::string key, name;
  bool liquid = true;
  Ratio liquid_share = {};               ///< of its mass, that acts as the mix's liquid; zero: not counted
  Mass drop = {};                        ///< what one drop weighs; zero: not known
  std::optional<double> lightness = {};  ///< L* of a dried swatch: 0 black, 100 white
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

/// A small mold that is always ready for what is left of a batch.
struct LeftoverMold {
  std::string key, name;
  Volume holds;
  int copies = 1;
  Mass takes = {};  ///< of the mix, where that was reckoned; zero: what it holds
};

/// A size in which something is sold.
struct PackSize {
  Mass size;
  std::optional<Amount> price;
};
struct SupplyPrice {
  std::string name;  ///< as the parts and pigments are called
  std::optional<Amount> per_kilogram;
  std::vector<PackSize> packs;
};
/// What a kilogram costs: as said, else in the largest pack with a price.
std::optional<Amount> per_kilogram(const SupplyPrice& supply);

/// How a workshop likes to work.
struct Habits {
  std::optional<Temperature> room;
  bool us_units = false;  ///< ounces beside grams
  Mass cup;               ///< what the mixing cup weighs
  Mass residue;           ///< what stays in every cup that is poured
  Mass bucket;            ///< most that is mixed at once; zero: not said
  Currency currency;
  std::string read_as;  ///< what its mesh files show, a word of --read-as; empty: decided file by file
};

struct Catalogue {
  std::vector<Mix> mixes;
  std::vector<Pigment> pigments;
  std::vector<Scale> scales;
  std::vector<LeftoverMold> leftovers;
  std::vector<SupplyPrice> supplies;
  std::optional<Habits> habits;
  std::string default_mix;           ///< key
  std::optional<Handling> handling;  ///< as far as a file says it
};

/// The generic mixes the program carries; nobody weighed any of them. Never fails.
const Catalogue& built_in_catalogue();

/// Reads one catalogue text. Errors name the line and column, the unknown key and the nearest known one.
/// `label` is the file's name in messages. The format: docs/materials.md. `default_mix` is kept as written.
Expected<Catalogue> parse_catalogue(std::string_view toml, std::string_view label);

/// The built-in catalogue overlaid with every *.toml file directly in `folder`, in name order; entries with
/// the same key replace earlier ones. Run files and colour plans among them are passed over. An empty path
/// gives the built-in catalogue alone. `default_mix` is then the key of a mix that exists.
Expected<Catalogue> load_catalogue(const std::filesystem::path& folder);

/// Whether a file of a catalogue lies directly in the folder; one with mistakes counts, so that they are
/// told.
bool is_workshop(const std::filesystem::path& folder);

/// By key or by name, case and punctuation ignored. Failure suggests the nearest name.
Expected<Mix> find_mix(const Catalogue& catalogue, std::string_view name);

/// By key or by name, as mixes are; nothing when it is not known.
const Pigment* find_pigment(const Catalogue& catalogue, std::string_view name);

/// A file for a workshop's folder, every key in it explained; it can be read as it is.
std::string_view catalogue_template();

/// One part of a mix, in millionths of the liquid's mass before any rounding.
struct Proportion {
  std::string name;
  std::optional<ComponentKind> kind;  ///< nothing: the liquid or the powder itself
  std::int64_t millionths = 0;
  std::optional<Density> density;
};
/// Every part in the order of weighing: the liquid, what is wet, the powder, what is dry, chips.
std::vector<Proportion> proportions(const Mix& mix);

/// The density of the mix as it is poured, at its present ratio: computed anew from the components where it
/// was computed, and with the chips' own volume where there are any.
Density poured_density(const Mix& mix);

/// How much faster a mix sets and hardens in one room than in another: twice as fast for every 10 °C more.
/// The one rule by which times shift with temperature. A guide, as for epoxies; gypsum sets no faster above
/// about 37 °C, so rooms count as 35 °C at most, and as 5 °C at least.
double room_pace(Temperature room, Temperature than = celsius(20));
/// A time stated for `at` in a room of another temperature.
Duration at_room(Duration stated, Temperature room, Temperature at = celsius(20));

/// The mix as it behaves in this room. Times come from the nearest temperature the workshop has found them
/// at, the ratio only from one within 2 °C. The notes say what was changed and why.
struct MixInRoom {
  Mix mix;
  Notes times;                ///< what became of the times
  std::optional<Note> ratio;  ///< and of the ratio
};
MixInRoom in_room(const Mix& mix, Temperature room);

/// The density of a mix whose parts alone make `air_free`, with a volume share of air left in it.
Density with_air(Density air_free, Ratio air);

}  // namespace pourwright
