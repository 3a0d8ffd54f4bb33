// SPDX-License-Identifier: GPL-3.0-or-later
// The text of a new workshop file, every key explained in place.
#include <pourwright/material.hpp>

namespace pourwright {

std::string_view catalogue_template() {
  static constexpr std::string_view text =
      R"toml(# A workshop: its mixes, pigments, scales, small molds and prices. Keep it in a folder of your own and name the
# folder with --workshop FOLDER. Quantities stand in quotes with their unit. A line behind # is not read.

default-mix = "house"              # used when no --material is given

[workshop]
room = "20 °C"                     # when --room is not given
units = "metric"                   # or "us": ounces beside grams
cup = "38 g"                       # what your mixing cup weighs empty
residue = "3 g"                    # what stays in every cup you pour from
bucket = "2.4 kg"                  # most that you mix at once
currency = "EUR"

# ---- mixes ---------------------------------------------------------------------------------------------

[[mix]]
key = "house"                      # lower-case letters and digits, joined by - or .
name = "House mix"
description = "What it is for, and when it was measured."
liquid = "acrylic liquid"          # how the two parts are called on the card
powder = "mineral powder"
ratio = 3.2                        # powder to one of liquid, by mass
density = "1.75 g/mL"              # of the poured mix, chips left out; a table's until a cup was weighed
density-from = "generic"           # "cup test" once you have weighed a full cup and written its density
density-spread = "7 %"             # how far off it may be; 2 % after a cup test
working-time = "14 min"            # from the powder going in, at 20 °C
demold-time = "45 min"             # at 20 °C
set-temperature = "50 °C"          # the hottest it gets as it sets
pigment-ceiling = "3 %"            # of the mix, all pigments together
# allowance = "8 %"                # a fixed share is added; without it, as much as runs short 1 time in 100
cautions = ["For dry places indoors."]

[[mix.room]]                       # what you found at another temperature; the rest follows a rule
at = "26 °C"
working-time = "9 min"
demold-time = "32 min"
# ratio = 3.1                      # used within 2 °C of it

[[mix.component]]                  # any number of further parts, or none
name = "retarder"
kind = "retarder"                  # liquid, water, thickener, retarder; powder, filler, fibre; chips
share = "0.3 %"                    # of the whole mix, or
# per-liquid = 0.0126              # by mass to one of liquid
# density = "1.05 g/mL"            # needed for chips, and where the mix's density is computed

[[mix]]
key = "plaster"
name = "Plaster"
liquid = "water"
powder = "plaster"
ratio = 1.4
powder-density = "2.63 g/mL"       # instead of density: the mix's is computed from its parts,
liquid-density = "0.998 g/mL"      # and marked so on every card
air = "2 %"                        # stirred in, by volume
working-time = "9 min"
demold-time = "30 min"

# ---- pigments ------------------------------------------------------------------------------------------

[[pigment]]
key = "moss"
name = "Moss"
form = "liquid"                    # or "dry"
liquid-share = "55 %"              # of it that acts as the mix's liquid; leave it out and it is not counted
drop = "0.05 g"                    # what one drop weighs
lightness = 38                     # of a dried swatch: 0 black, 100 white; light is poured before dark

# ---- scales: the program says which one is for which part ---------------------------------------------

[[scale]]
key = "bench"
name = "Bench scale"
step = "1 g"
capacity = "5 kg"

[[scale]]
key = "fine"
name = "Fine scale"
step = "0.01 g"
capacity = "200 g"

# ---- small molds for what is left ----------------------------------------------------------------------

[[leftover]]
key = "magnet"
name = "Magnet"
holds = "4.5 ml"
copies = 12

# ---- prices, by the names of parts and pigments --------------------------------------------------------

[[supply]]
name = "acrylic liquid"
packs = ["1 kg = 9.80", "5 kg = 41.00"]

[[supply]]
name = "mineral powder"
packs = ["5 kg = 14.50", "25 kg = 61.00"]

[[supply]]
name = "retarder"
price = "12.00"                    # of a kilogram
)toml";
  return text;
}

}  // namespace pourwright
