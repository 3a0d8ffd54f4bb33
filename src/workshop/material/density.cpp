// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

namespace pourwright {

std::string_view name(DensityFrom from) {
  switch (from) {
    case DensityFrom::cup_test:
      return "cup test";
    case DensityFrom::components:
      return "computed from components";
    case DensityFrom::generic:
      return "generic value";
    case DensityFrom::option:
      return "given";
    case DensityFrom::records:
      return "records";
  }
  return "generic value";
}

// Volumes add when nothing dissolves and no air stays: 1 g of liquid and r g of powder fill 1/ρl + r/ρp.
Density mixture_density(Ratio ratio, Density powder, Density liquid) {
  const double r = ratio.value();
  return grams_per_millilitre((1 + r) /
                              (r / in_grams_per_millilitre(powder) + 1 / in_grams_per_millilitre(liquid)));
}

Density with_air(Density air_free, Ratio air) {
  return air_free * (1 - air.value());
}

}  // namespace pourwright
