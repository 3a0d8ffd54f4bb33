// SPDX-License-Identifier: GPL-3.0-or-later
// The built program asked about one attack mesh, and what its answer is worth.
#pragma once

#include "support/attack_meshes.hpp"

#include <filesystem>
#include <string>
#include <vector>

namespace attacks {

enum class Verdict : std::uint8_t {
  right,            ///< the truth lies inside every interval
  wide,             ///< so it does, but one of them is wider than ±3 %
  refused,          ///< no number, where none was expected or either is right
  refused_wrongly,  ///< no number for a file that has an answer
  warned,           ///< the truth lies outside, and a warning stands beside the number
  silent,           ///< the truth lies outside without a word
  slow,             ///< more than 20 s of processor or 1 GB
};
inline constexpr std::size_t verdicts = 7;
const char* name_of(Verdict v);

struct Judged {
  Verdict verdict = Verdict::slow;
  std::string why;
  double width = 0;    ///< half of the widest interval over its value
  double seconds = 0;  ///< of processor
};

/// Writes the mesh into `folder`, runs `program measure` on it, and `inspect` where walls are known.
Judged judge(const std::string& program, const std::filesystem::path& folder, const Case& c);

}  // namespace attacks
