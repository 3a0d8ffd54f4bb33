// SPDX-License-Identifier: GPL-3.0-or-later
// The mixes and pigments that everybody has. The law: every number has its source, none passes as
// measured, and no brand is named.
#include "workshop/material/built_in.hpp"

#include <pourwright/material.hpp>

namespace pourwright {
namespace material {

std::string_view built_in_text() {
  static constexpr std::string_view text = R"toml(
default-mix = "mineral-composite"

# ---- starting points until a cup of the real mix has been weighed. Nobody weighed these: ratios are common
# practice, densities a table's, and what powders of different makers, other ratios and stirred-in air make of
# them is taken to be 7 % either way.

[[mix]]
key = "mineral-composite"
name = "Generic mineral composite"
description = "Acrylic dispersion with a gypsum-based powder. Powder from one maker differs from the next."
liquid = "acrylic liquid"
powder = "mineral powder"
ratio = 3.2                      # common practice
density = "1.75 g/mL"            # common practice: 1.7 to 1.8 as poured, a few percent of air included
density-spread = "7 %"
working-time = "12 min"          # common practice: 10 to 20 minutes
demold-time = "45 min"           # common practice: 20 to 60 minutes, by thickness
min-wall = "3 mm"              # common practice
pigment-ceiling = "3 %"          # common practice for liquid colours in gypsum mixes
# Çolak, Cem. Concr. Res. 31 (2001) 1539-1547: about 70 % of the strength is gone after 7 days in water.
cautions = ["Loses most of its strength in standing water: for dry places indoors."]

[[mix]]
key = "casting-plaster"
name = "Generic casting plaster"
description = "Plaster of Paris with 60 g of water to 100 g of powder."
liquid = "water"
powder = "plaster"
ratio = 1.67                     # 100 g to 60 g
density = "1.63 g/mL"            # air-free slurry, hemihydrate 2.63 g/mL (Wirsching, Ullmann's, from memory)
density-spread = "7 %"
working-time = "8 min"           # common practice; ASTM C59 allows 10 to 50 minutes until set
demold-time = "30 min"           # common practice
min-wall = "4 mm"              # common practice
pigment-ceiling = "3 %"
cautions = ["Soft and soluble when wet: for dry places indoors."]

[[mix]]
key = "hydraulic-gypsum"
name = "Generic hydraulic gypsum"
description = "Dense alpha gypsum, as used for models, with 30 g of water to 100 g of powder."
liquid = "water"
powder = "gypsum powder"
ratio = 3.33                     # 100 g to 30 g; dental-materials texts give 25 to 30 g for stone
density = "1.91 g/mL"            # air-free slurry, hemihydrate 2.63 g/mL (Wirsching, Ullmann's, from memory)
density-spread = "7 %"           # alpha hemihydrate of 2.757 g/mL would give 1.97
working-time = "6 min"           # common practice
demold-time = "45 min"           # common practice
min-wall = "3 mm"              # common practice
pigment-ceiling = "2 %"          # common practice: dense gypsum bears less
cautions = ["Heats up strongly while it sets: let thick castings cool before they are touched."]

# ---- what hands do to a piece while it leaves the mold; common practice where no source is named

[handling]
peel-n-per-mm = 0.03             # pull along an edge from which a soft mold is peeled
pry-n = 1                        # a finger lifting at a tip or edge; levering with a tool is 5 N and more
pry-contact = "10 mm"            # a fingertip
safety = 3
green-flexural-mpa = 1.2         # at 2 h, prisms of 40 x 40 x 160 mm: GOST 125-79, table 1
green-age = "2 h"
green-from = "GOST 125-79, grade G-2, the lowest"
share-at-demold = "33 %"         # assumption: of its wet strength a mix has a third when it may leave the mold

# ---- names of the demo workshop Tern Hollow; no number in them

[[pigment]]
key = "kelp"
name = "Kelp"

[[pigment]]
key = "rust"
name = "Rust"

[[pigment]]
key = "slate"
name = "Slate"

[[pigment]]
key = "chalk"
name = "Chalk"
)toml";
  return text;
}

}  // namespace material

const Catalogue& built_in_catalogue() {
  static const Catalogue catalogue = *parse_catalogue(material::built_in_text(), "built-in catalogue");
  return catalogue;
}

}  // namespace pourwright
