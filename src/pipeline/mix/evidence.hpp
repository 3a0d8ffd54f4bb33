// SPDX-License-Identifier: GPL-3.0-or-later
// The records that concern one card, and how they are spoken of.
#pragma once

#include <pourwright/pipeline_learn.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace pourwright {

/// A range that holds the truth 99 times in 100, as the intervals elsewhere do.
constexpr double wide = 2.6;

struct Evidence {
  std::vector<Record> cups;
  std::vector<std::vector<Record>> fills;  ///< by mold
  std::vector<Record> pours;               ///< oldest first
  std::vector<Record> lots;                ///< of the mix's powder
  std::vector<Notes> mold_notes;
  std::vector<std::pair<std::string, Volume>> others;  ///< molds that were filled with water, and these
  bool empty() const;
  int pours_of(const std::string& mold) const;
};

/// The latest records of these molds and this mix, withdrawn ones left out; with a note those made with
/// another file of the same name.
Expected<Evidence> gather(const Ledger& ledger, const Mix& mix, const std::vector<MoldOfCard>& molds);

std::string counted(int n, std::string_view one);  ///< "1 pour", "2 pours"
/// "2 water fills and 10 pours"
std::string from_what(int measured, std::string_view name, int pours);

}  // namespace pourwright
