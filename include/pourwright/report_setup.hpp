// SPDX-License-Identifier: GPL-3.0-or-later
// What `setup` did, as a plain value, and how it is told.
#pragma once

#include <pourwright/report.hpp>

#include <optional>
#include <string>

namespace pourwright {

struct SetupReport {
  enum class Did : std::uint8_t {
    made,       ///< a new workshop, and remembered it
    found,      ///< a workshop that was there already, and remembered it
    forgotten,  ///< no workshop is remembered any more
  };
  Did did = Did::made;
  std::string folder;          ///< absolute; of `forgotten` the one that was remembered, or empty
  std::string file;            ///< that was written; empty: none
  std::optional<Mix> mix;      ///< the one that its cards use
  std::optional<Density> cup;  ///< of the cup that was weighed
  Notes notes;
};
std::string setup_text(const SetupReport& report, const TextStyle& style);
std::string setup_json(const SetupReport& report);

}  // namespace pourwright
