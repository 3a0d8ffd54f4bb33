// SPDX-License-Identifier: GPL-3.0-or-later
// The entries of a ZIP archive (libzip) as sources of bytes. All entries of an archive share one allowance
// of unpacked bytes, so that a small file cannot fill the memory.
#include "geometry/intake/archive.hpp"

#include "geometry/intake/text_reader.hpp"

#include <algorithm>
#include <cstdio>

#include <fmt/format.h>
#include <unistd.h>
#include <zip.h>

namespace pourwright::intake {
namespace {

/// Text of coordinates shrinks to a tenth when packed, rarely to a fiftieth; a bomb to a thousandth.
constexpr std::uint64_t always_allowed = std::uint64_t{256} << 20, times_packed = 100;

class EntrySource final : public ByteSource {
 public:
  EntrySource(zip_file_t* file, std::string label, std::string name, std::uint64_t& allowance)
      : file_(file), label_(std::move(label)), name_(std::move(name)), allowance_(allowance) {}
  ~EntrySource() override { zip_fclose(file_); }
  EntrySource(const EntrySource&) = delete;
  EntrySource& operator=(const EntrySource&) = delete;

  std::size_t read(char* into, std::size_t n) override {
    if (trouble_) return 0;
    const zip_int64_t got = zip_fread(file_, into, n);
    if (got < 0) {
      trouble_ = fail(Code::file_malformed,
                      fmt::format("{}: “{}” in it cannot be unpacked: {}", label_, name_,
                                  printable(zip_file_strerror(file_))),
                      "copy or download the file again, or export it again");
      return 0;
    }
    if (static_cast<std::uint64_t>(got) > allowance_) {
      trouble_ =
          fail(Code::too_large, fmt::format("{} unpacks to far more than a mesh of its size would", label_),
               "if the file is to be trusted, unpack it and export the mesh as binary STL");
      return 0;
    }
    allowance_ -= static_cast<std::uint64_t>(got);
    return static_cast<std::size_t>(got);
  }
  std::optional<Problem> trouble() const override { return trouble_; }

 private:
  zip_file_t* file_;
  std::string label_, name_;
  std::uint64_t& allowance_;
  std::optional<Problem> trouble_;
};

zip_source_t* make_source(const Package& package, zip_error_t* error) {
  if (package.fd < 0) return zip_source_buffer_create(package.memory.data(), package.memory.size(), 0, error);
  const int copy = dup(package.fd);
  std::FILE* const file = copy < 0 ? nullptr : fdopen(copy, "rb");
  if (file == nullptr) {
    if (copy >= 0) close(copy);
    return nullptr;
  }
  zip_source_t* const source = zip_source_filep_create(file, 0, -1, error);
  if (source == nullptr) std::fclose(file);
  return source;
}

}  // namespace

void Archive::Closer::operator()(zip* archive) const {
  zip_discard(archive);
}

Expected<Archive> Archive::open(const Package& package, const Job& job) {
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* const source = make_source(package, &error);
  zip_t* const archive = source == nullptr ? nullptr : zip_open_from_source(source, ZIP_RDONLY, &error);
  if (archive == nullptr) {
    if (source != nullptr) zip_source_free(source);
    const std::string why = printable(zip_error_strerror(&error));
    zip_error_fini(&error);
    return fail(Code::file_malformed, fmt::format("{} is not a whole zip archive: {}", job.label, why),
                "copy or download the file again, or export it again");
  }
  zip_error_fini(&error);
  return Archive(archive, job,
                 std::min(job.max_bytes, std::max(always_allowed, times_packed * package.size)));
}

std::optional<std::uint64_t> Archive::find(const std::string& name) const {
  zip_int64_t at = zip_name_locate(zip_.get(), name.c_str(), 0);
  // Without case the search is linear; an archive with very many entries can do without it.
  if (at < 0 && zip_get_num_entries(zip_.get(), 0) < 10'000)
    at = zip_name_locate(zip_.get(), name.c_str(), ZIP_FL_NOCASE);
  return at < 0 ? std::nullopt : std::optional(static_cast<std::uint64_t>(at));
}

Expected<ByteWindow> Archive::read(std::uint64_t entry) {
  zip_stat_t about;
  zip_stat_init(&about);
  const bool known = zip_stat_index(zip_.get(), entry, 0, &about) == 0;
  const std::string name = known && (about.valid & ZIP_STAT_NAME) != 0 ? printable(about.name) : "an entry";
  if (known && (about.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && about.encryption_method != ZIP_EM_NONE)
    return fail(Code::file_malformed, fmt::format("{}: “{}” in it is encrypted", job_->label, name),
                "export the mesh without a password");
  zip_file_t* const file = zip_fopen_index(zip_.get(), entry, 0);
  if (file == nullptr)
    return fail(Code::file_malformed,
                fmt::format("{}: “{}” in it cannot be opened: {}", job_->label, name,
                            printable(zip_strerror(zip_.get()))),
                "export the mesh again");
  // The size that the archive states is not asked for: it may be a lie.
  return ByteWindow(std::make_unique<EntrySource>(file, job_->label, name, *allowance_), 0);
}

Expected<std::string> Archive::read_small(std::uint64_t entry, std::size_t most) {
  Expected<ByteWindow> window = read(entry);
  if (!window) return window.error();
  std::string out;
  while (window->want(1)) {
    out.append(window->cursor, window->have());
    window->cursor = window->limit;
    if (out.size() > most)
      return fail(Code::too_large, fmt::format("{}: a part that should be small is not", job_->label),
                  "export again");
  }
  if (auto trouble = window->trouble()) return *trouble;
  return out;
}

}  // namespace pourwright::intake
