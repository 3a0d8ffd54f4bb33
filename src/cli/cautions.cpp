// SPDX-License-Identifier: GPL-3.0-or-later
// Cautions are read once a day at a bench. Law: what is piped, printed or kept always carries them in full,
// and so does a terminal whose reader may not have seen every one of them today.
#include "cli/cautions.hpp"

#include <pourwright/pipeline_run.hpp>

#include <algorithm>
#include <fstream>

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

constexpr std::int64_t second_per_day = 86'400;
/// More than a day of cards has ever to say; anything longer was not written by us.
constexpr std::size_t longest_file = 64 * 1024;

/// The first line of the file; the day changes at midnight of the place.
std::string day_line(const Surroundings& around) {
  const std::int64_t local = around.now + around.utc_offset;
  return fmt::format("cautions shown on day {}",
                     local / second_per_day - (local % second_per_day < 0 ? 1 : 0));
}

/// What was shown today, or nothing.
std::vector<std::string> shown_today(const std::filesystem::path& file, const std::string& day) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error) ||
      std::filesystem::file_size(file, error) > longest_file)
    return {};
  std::ifstream in(file);
  std::string line;
  if (!std::getline(in, line) || line != day) return {};
  std::vector<std::string> out;
  while (std::getline(in, line)) out.push_back(line);
  return out;
}

/// A caution as one line of the file.
std::string one_line(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

}  // namespace

bool seen_today(const Surroundings& around, const std::vector<std::string>& cautions) {
  if (!around.output_is_terminal || around.state_folder.empty()) return false;
  const std::filesystem::path folder = around.state_folder, file = folder / "cautions";
  const std::string day = day_line(around);
  std::vector<std::string> shown = shown_today(file, day);
  std::string added;
  for (const std::string& caution : cautions)
    if (const std::string line = one_line(caution);
        std::find(shown.begin(), shown.end(), line) == shown.end()) {
      added += line + "\n";
      shown.push_back(line);
    }
  if (added.empty()) return true;
  std::string text = day + "\n";
  for (const std::string& line : shown) text += line + "\n";
  // Where nothing can be kept, the cautions are simply shown again.
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (!error && text.size() <= longest_file) (void)write_file(file, text, true);
  return false;
}

}  // namespace pourwright::cli
