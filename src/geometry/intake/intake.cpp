// SPDX-License-Identifier: GPL-3.0-or-later
// The room's front: opens a file without waiting on pipes or devices, lets its content choose the reader,
// settles the unit, and turns exhausted memory into a Problem.
#include <pourwright/file_content.hpp>
#include <pourwright/intake.hpp>

#include "geometry/intake/more_formats.hpp"
#include "geometry/intake/readers.hpp"
#include "geometry/intake/sniff.hpp"
#include "geometry/intake/text_reader.hpp"

#include <algorithm>
#include <cerrno>
#include <new>
#include <stdexcept>

#include <fmt/format.h>
#include <unistd.h>

namespace pourwright {
namespace {

using namespace intake;

constexpr std::size_t head_bytes = std::size_t{64} << 10;

/// Where the bytes of the file are: behind a descriptor, or in memory.
struct Input {
  int fd = -1;
  std::uint64_t size = 0;
  std::span<const std::byte> memory;

  ByteWindow window(const Job& job) const {
    return ByteWindow(fd < 0 ? memory_source(memory) : file_source(fd, job.label), size);
  }
};

std::string quoted(std::string_view label) {
  return fmt::format("“{}”", printable(label));
}

Problem unknown_format(const Job& job, MeshFormat format, std::string_view content) {
  if (!content.empty())
    return fail(Code::format_unknown, fmt::format("{} is {}, not a mesh", job.label, content),
                content_hint(content, "the mesh (STL, OBJ, PLY, OFF or 3MF)"));
  if (format == MeshFormat::wide_text)
    return fail(Code::format_unknown, fmt::format("{} is text in UTF-16 or UTF-32", job.label),
                "save it as UTF-8 or plain ASCII text, or export the mesh as binary STL");
  return fail(
      Code::format_unknown, fmt::format("{} is in no mesh format that is known here", job.label),
      "export the mesh as STL, OBJ, PLY, OFF or 3MF; with --more-formats also glTF, GLB, AMF, X3D and "
      "COLLADA are read");
}

Expected<std::vector<std::byte>> read_all(const Input& input, const Job& job) {
  std::vector<std::byte> all(static_cast<std::size_t>(input.size));
  const auto source = file_source(input.fd, job.label);
  std::size_t filled = 0;
  while (filled < all.size()) {
    const std::size_t got = source->read(reinterpret_cast<char*>(all.data()) + filled, all.size() - filled);
    if (got == 0) break;
    filled += got;
  }
  if (auto trouble = source->trouble()) return *trouble;
  all.resize(filled);
  return all;
}

Expected<MeshFile> read_foreign(const Input& input, MeshFormat format, const Job& job,
                                const IntakeOptions& options) {
  if (!options.more_formats)
    return fail(
        Code::format_switched_off,
        fmt::format("{} is a {} file; reading those is switched off", job.label, info_of(format).name),
        "add --more-formats if you trust the file, or export the mesh as STL, OBJ, PLY or 3MF");
  if (!assimp_built())
    return fail(Code::format_not_built,
                fmt::format("{} is a {} file; this build cannot read those", job.label, info_of(format).name),
                "install libassimp-dev and build again, or export the mesh as STL, OBJ, PLY or 3MF");
  // Assimp needs the whole file and ten times its size.
  constexpr std::uint64_t most = std::uint64_t{1} << 30;
  if (input.size > most)
    return fail(Code::too_large, fmt::format("{}: more than 1 GiB of {}", job.label, info_of(format).name),
                "export the mesh as binary STL");
  if (input.fd < 0) return read_more(input.memory, format, job);
  const auto all = read_all(input, job);
  if (!all) return all.error();
  return read_more(*all, format, job);
}

Expected<MeshFile> read_format(const Input& input, MeshFormat format, std::string_view content,
                               const Job& job, const IntakeOptions& options) {
  if (format == MeshFormat::three_mf) return read_three_mf({input.fd, input.size, input.memory}, job);
  if (!info_of(format).own) return read_foreign(input, format, job, options);
  const auto reader =
      std::find_if(readers.begin(), readers.end(), [&](const Reader& r) { return r.format == format; });
  if (reader == readers.end()) return unknown_format(job, format, content);
  ByteWindow window = input.window(job);
  Expected<MeshFile> result = reader->read(window, job);
  // A reader that met the end too early must not blame the file for a broken disk.
  if (auto trouble = window.trouble()) return *trouble;
  return result;
}

Expected<std::string> read_head(const Input& input, const Job& job) {
  const Input head{input.fd, std::min<std::uint64_t>(head_bytes, input.size), input.memory};
  ByteWindow window = head.window(job);
  window.want(head_bytes);
  if (auto trouble = window.trouble()) return *trouble;
  return std::string(window.cursor, std::min(window.have(), head_bytes));
}

Expected<MeshFile> read_input(const Input& input, std::string_view name, const Job& job,
                              const IntakeOptions& options) {
  if (input.size == 0)
    return fail(Code::file_empty, fmt::format("{} is empty", job.label), "export or copy the file again");
  if (input.size > job.max_bytes)
    return fail(
        Code::too_large,
        fmt::format("{} has {} bytes, more than the limit of {}", job.label, input.size, job.max_bytes),
        "reduce the mesh, or raise the limit");
  try {
    const auto head = read_head(input, job);
    if (!head) return head.error();
    const std::string ending = file_ending(name);
    const MeshFormat format = sniff(*head, input.size, ending);
    Expected<MeshFile> result = read_format(input, format, content_name(*head, input.size), job, options);
    const MeshFormat promised = promised_format(ending);
    const bool same =
        promised == format || (promised == MeshFormat::stl_binary && format == MeshFormat::stl_ascii);
    if (result && promised != MeshFormat::unknown && !same)
      note(result->notes, "format-by-content",
           fmt::format("the name ends in {}, but the content is {}", ending, info_of(format).name), true);
    return result;
  } catch (const std::bad_alloc&) {
  } catch (const std::length_error&) {
  }
  return fail(Code::memory_limit, fmt::format("{} needs more memory than there is", job.label),
              "reduce the mesh");
}

Job make_job(std::string_view name, const IntakeOptions& options) {
  const std::size_t slash = name.find_last_of('/');
  const std::string_view base = slash == std::string_view::npos ? name : name.substr(slash + 1);
  return {quoted(base.empty() ? name : base), options.unit, options.max_triangles, options.max_bytes};
}

}  // namespace

Expected<MeshFile> read_mesh_file(const std::filesystem::path& path, const IntakeOptions& options) {
  const Job job = make_job(path.native(), options);
  const auto file = open_regular(path, job.label);
  if (!file) return file.error();
  return read_input({file->fd, file->size, {}}, path.native(), job, options);
}

Expected<MeshFile> read_mesh_bytes(std::span<const std::byte> bytes, std::string_view label,
                                   const IntakeOptions& options) {
  return read_input({-1, bytes.size(), bytes}, label, make_job(label, options), options);
}

bool looks_like_mesh_name(const std::filesystem::path& path) {
  return promised_format(file_ending(path.native())) != MeshFormat::unknown;
}

}  // namespace pourwright
