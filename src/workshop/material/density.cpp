// SPDX-License-Identifier: GPL-3.0-or-later
// Where a density came from, in words; what air makes of one.
#include <pourwright/material.hpp>

namespace pourwright {

std::string_view name(DensityFrom from) {
  switch (from) {
    case DensityFrom::cup_test:
      return "cup test";
    case DensityFrom::components:
      return "computed from components, not weighed";
    case DensityFrom::generic:
      return "table, not weighed";
    case DensityFrom::option:
      return "given";
    case DensityFrom::records:
      return "records";
  }
  return "table, not weighed";
}

bool is_weighed(const Mix& mix) {
  return mix.density_from != DensityFrom::generic && mix.density_from != DensityFrom::components;
}

Density with_air(Density air_free, Ratio air) {
  return air_free * (1 - air.value());
}

}  // namespace pourwright
