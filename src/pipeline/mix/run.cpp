// SPDX-License-Identifier: GPL-3.0-or-later
// A production run from a file, a folder of molds or a list of pieces: prepared, planned, put into words.
#include <pourwright/file_content.hpp>
#include <pourwright/mesh_format.hpp>
#include <pourwright/pipeline_learn.hpp>

#include "pipeline/mix/mix.hpp"
#include "pipeline/mix/pieces_csv.hpp"
#include "pipeline/mix/prepare_run.hpp"

#include <algorithm>
#include <fstream>
#include <system_error>

#include <fmt/format.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t largest_file = 16 << 20;

Expected<std::string> text_of(const fs::path& path, std::string_view wanted) {
  std::error_code error;
  if (!fs::exists(path, error))
    return fail(Code::file_missing, fmt::format("there is no file “{}”", path.string()),
                "check the name and the folder");
  const auto unreadable = [&](std::string_view why) {
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read: {}", path.string(), why), "");
  };
  if (!fs::is_regular_file(path, error)) return unreadable("it is not a regular file");
  const auto size = fs::file_size(path, error);
  if (error) return unreadable(error.message());
  if (size > largest_file)
    return fail(Code::too_large, fmt::format("“{}” is larger than 16 MB", path.string()),
                "no run needs that");
  std::string text(static_cast<std::size_t>(size), '\0');
  std::ifstream in(path, std::ios::binary);
  if (size > 0 && !in.read(text.data(), static_cast<std::streamsize>(size)))
    return unreadable("the disk did not give it");
  if (const std::string_view content = content_name(text, size); !content.empty())
    return fail(Code::config_syntax, fmt::format("“{}” is {}, not {}", path.string(), content, wanted),
                content_hint(content, wanted));
  if (promised_format(file_ending(path.string())) != MeshFormat::unknown)
    return fail(Code::config_syntax, fmt::format("“{}” is a mesh by its name, not {}", path.string(), wanted),
                fmt::format("for the pour card of a mold: pourwright card {}", path.string()));
  return text;
}

/// A run without hours: weights alone.
run_file::File without_hours(std::string label) {
  run_file::File f;
  f.label = std::move(label);
  f.pour = f.handling = Duration();
  return f;
}

Expected<RunReport> planned(const run_file::File& file, const run_file::Prepared& prepared) {
  auto plan = plan_run(prepared.order);
  if (!plan) return plan.error();
  return run_file::sheet(file, prepared, std::move(*plan));
}

}  // namespace

namespace run_file {

Expected<File> load(const fs::path& path) {
  const auto text = text_of(path, "a run file");
  if (!text) return text.error();
  auto file = parse(*text, path.string());
  if (!file) return file.error();
  file->folder = path.parent_path();
  return file;
}

void use_ledger(File& file, const RunSettings& settings, Notes& notes) {
  const MixSettings own =
      file.workshop.empty() ? settings.mix : with_workshop_of_file(settings.mix, file.folder / file.workshop);
  const auto levels = stock_levels(own);
  if (!levels) {
    notes.push_back({"ledger-not-used",
                     fmt::format("the stock in the ledger was not used: {}", levels.error().text), true});
    return;
  }
  std::vector<std::string> used, to_count;
  for (const StockLevel& level : *levels) {
    auto supply = std::find_if(file.supplies.begin(), file.supplies.end(),
                               [&](const Supply& s) { return s.name == level.supply; });
    if (supply == file.supplies.end())
      supply = file.supplies.insert(supply,
                                    Supply{level.supply, std::nullopt, {}, {}, std::nullopt, std::nullopt});
    if (level.currency == file.currency.code) supply->paid = level.per_kilogram;
    if (supply->stock) continue;
    supply->stock = level.there;
    used.push_back(level.supply);
    if (level.short_of) to_count.push_back(level.supply);
  }
  if (!used.empty())
    notes.push_back({"stock-from-ledger",
                     fmt::format("what is in stock is the ledger's: {}", fmt::join(used, ", ")), false});
  if (!to_count.empty())
    notes.push_back({"stock-to-count",
                     fmt::format("you used more {} than was in stock: weigh what is there and record it with "
                                 "`pourwright learn counted`",
                                 fmt::join(to_count, ", ")),
                     true});
}

}  // namespace run_file

Expected<RunReport> run_pieces(const fs::path& csv, const RunSettings& settings) {
  if (!settings.mixer_max)
    return fail(Code::usage, "say how much one batch may weigh: --mixer-max",
                "for example --mixer-max 2.4kg");
  const auto text = text_of(csv, "a table of pieces");
  if (!text) return text.error();
  const auto pieces = parse_pieces(*text, csv.string());
  if (!pieces) return pieces.error();
  run_file::File file = without_hours(csv.string());
  const Ratio with = Ratio::percent(100) + settings.mix.allowance.value_or(Ratio());
  file.molds.reserve(pieces->size());
  for (std::size_t i = 0; i < pieces->size(); ++i) {
    const CsvPiece& p = (*pieces)[i];
    run_file::Mold m;
    m.key = m.name = fmt::format("{}", i + 1);
    m.mix = p.grams * with;
    m.copies = std::max(1, p.count);
    file.molds.push_back(std::move(m));
    run_file::Piece piece;
    piece.name = p.name;
    piece.mold = file.molds.back().key;
    piece.colour = p.colour;
    piece.order = p.order;
    piece.wanted = p.count;
    file.pieces.push_back(std::move(piece));
  }
  auto prepared = run_file::prepare(file, settings, {});
  if (!prepared) return prepared.error();
  for (std::size_t i = 0; i < prepared->order.pours.size(); ++i) {
    // The grams as they are given, not up to the scale's step: only the batch is weighed.
    prepared->order.pours[i].mix = *prepared->sources[i].mold->mix;
    prepared->order.pours[i].mold = -1;
  }
  prepared->order.molds.clear();
  return planned(file, *prepared);
}

namespace {

/// Of a folder, a mold that no batch can fill is that mold's failure.
void leave_out_what_cannot_be_mixed(run_file::Prepared& prepared) {
  const RunLimits& l = prepared.order.limits;
  const Mass most = l.scale > Mass() ? std::min(l.bucket, l.scale) : l.bucket;
  for (std::size_t i = prepared.order.pours.size(); i-- > 0;) {
    const RunPour& pour = prepared.order.pours[i];
    if (pour.mix <= most) continue;
    prepared.errors.push_back(
        {prepared.sources[i].mold->file,
         fail(Code::does_not_fit,
              fmt::format("it takes {} g a pour, but a batch is at most {} g",
                          grams_text(pour.mix, Mass::grams(1)), grams_text(most, Mass::grams(1))),
              "mix in a larger bucket, or pour it in several layers")});
    prepared.order.pours.erase(prepared.order.pours.begin() + static_cast<std::ptrdiff_t>(i));
    prepared.sources.erase(prepared.sources.begin() + static_cast<std::ptrdiff_t>(i));
  }
  std::stable_sort(prepared.errors.begin(), prepared.errors.end(),
                   [](const auto& a, const auto& b) { return a.path < b.path; });
}

}  // namespace

Expected<RunReport> run_from_file(const fs::path& path, const RunSettings& settings,
                                  const MeasureMolds& measure) {
  auto file = run_file::load(path);
  if (!file) return file.error();
  Notes of_stock;
  run_file::use_stock_and_prices(*file, settings, of_stock);
  auto prepared = run_file::prepare(*file, settings, measure);
  if (!prepared) return prepared.error();
  prepared->notes.insert(prepared->notes.end(), of_stock.begin(), of_stock.end());
  return planned(*file, *prepared);
}

Expected<RunReport> run_from_molds(const std::vector<fs::path>& molds, const RunSettings& settings,
                                   const MeasureMolds& measure) {
  run_file::File file = without_hours("molds");
  file.pour = usual_pour;  // no hours are planned, but no batch may outlast its mix
  for (std::size_t i = 0; i < molds.size(); ++i) {
    run_file::Mold m;
    m.key = fmt::format("{}", i + 1);
    m.name = molds[i].filename().string();
    m.file = molds[i].string();
    m.demold = Duration();
    m.pieces = 1;
    m.copies = settings.copies;
    file.molds.push_back(std::move(m));
    run_file::Piece piece;
    piece.name = molds[i].filename().string();
    piece.mold = file.molds.back().key;
    piece.wanted = settings.copies;
    file.pieces.push_back(std::move(piece));
  }
  auto prepared = run_file::prepare(file, settings, measure);
  if (!prepared) return prepared.error();
  leave_out_what_cannot_be_mixed(*prepared);
  prepared->notes.push_back(
      {"pour-time-assumed",
       fmt::format("{:.0f} s are taken for each pour, so that no batch outlasts its mix", usual_pour.base()),
       false});
  auto report = planned(file, *prepared);
  if (report) {
    report->plan.tasks.clear();
    report->plan.finish = Duration();
    for (RunBatchRow& row : report->batches) row.start = row.poured = row.out = std::nullopt;
  }
  return report;
}

}  // namespace pourwright
