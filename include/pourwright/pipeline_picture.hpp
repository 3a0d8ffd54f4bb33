// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of molds, as one call.
#pragma once

#include <pourwright/picture_words.hpp>
#include <pourwright/pipeline.hpp>

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace pourwright {

struct PictureSettings {
  MeasureSettings measure;
  Length limit = millimetres(3);  ///< thinner than this is hatched
  bool of_mold = false;           ///< the mold by its walls' thickness instead of the piece
  TextStyle style;
  /// What else is written on the picture of the file of this number.
  std::function<void(std::size_t, PictureWords&)> add;
};

/// The name of each file's picture: OUT itself for one file; of several OUT is a folder (it is one, or ends
/// in
/// "/"), or {name} in it stands for the file's name without its ending. Names that would be the same get -2,
/// -3, … in the order of the files. Fails when several would be one.
Expected<std::vector<std::filesystem::path>> picture_names(const std::vector<FoundFile>& files,
                                                           const std::string& out, std::string_view ending);

/// Where pictures go: a name for each file, or nothing.
struct PicturePlaces {
  std::vector<std::filesystem::path> png, svg;
  bool overwrite = false;
};
/// Draws every file and writes its pictures; what went wrong, file by file. A mesh is neither kept by the
/// cache nor sent by the processes that measure, so each is measured again, under the same limits, where it
/// is drawn. Files that cannot be measured have a problem here too.
std::vector<std::optional<Problem>> write_pictures(const std::vector<FoundFile>& files,
                                                   const PictureSettings& settings,
                                                   const PicturePlaces& places);

}  // namespace pourwright
