// SPDX-License-Identifier: GPL-3.0-or-later
// What is remembered of a measured file, and everything that must not be answered from memory.
#include "pipeline/cache.hpp"

#include "pipeline/codec.hpp"
#include "support/shapes.hpp"
#include "support/temporary_folder.hpp"

#include <chrono>
#include <fstream>
#include <thread>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

namespace fs = std::filesystem;

void write_mesh(const fs::path& path, const TriangleSoup& soup) {
  std::ofstream out(path);
  for (const Vec3& p : soup.vertices) out << "v " << p.x() << ' ' << p.y() << ' ' << p.z() << '\n';
  for (const Triangle& t : soup.triangles)
    out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << '\n';
}

TriangleSoup cup(double height) {
  return shapes::cavity_block(1, 1, 15, height, 0, {{10, height}, {10, 10}, {0, 10}}, 16, 0, 0);
}

std::string text_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

struct Place : support::TemporaryFolder {
  Place() {
    settings.cache = path() / "cache";
    settings.program = "test";
    write_mesh(mold(), cup(30));
  }
  fs::path mold() const { return path() / "cup.obj"; }
  Measured measured() const { return measure_all({{mold(), 0, {}}}, settings).front(); }
  std::vector<fs::path> entries() const { return kept(false); }
  std::vector<fs::path> stamps() const { return kept(true); }
  /// As if the mold had been made long ago: nobody but the system sets this date, so it is waited for.
  void let_the_mold_age() const { std::this_thread::sleep_for(std::chrono::milliseconds(3100)); }
  MeasureSettings settings;

 private:
  std::vector<fs::path> kept(bool stamps) const {
    std::vector<fs::path> out;
    for (const auto& e : fs::recursive_directory_iterator(settings.cache))
      if (e.is_regular_file() && e.path().parent_path().filename().string().starts_with("files-") == stamps)
        out.push_back(e.path());
    return out;
  }
};

}  // namespace

TEST_CASE("a measured file comes back as it was, bit by bit") {
  Place place;
  place.settings.tilts = {1.0};
  const Measured fresh = measure_one({place.mold(), 0, {}}, place.settings);
  REQUIRE(fresh.row.fill);
  CHECK(fresh.row.tilt.size() > 0);
  const std::string bytes = codec::bytes_of(fresh);
  const auto back = codec::measured_from(bytes);
  REQUIRE(back);
  CHECK(codec::bytes_of(*back) == bytes);
  CHECK(measure_json({{back->row}}) == measure_json({{fresh.row}}));
  CHECK(back->row.fill->high == fresh.row.fill->high);
  CHECK(back->cavities_filled == 1);
  for (std::size_t n = 0; n < bytes.size(); n += 7) CHECK_FALSE(codec::measured_from(bytes.substr(0, n)));
  CHECK_FALSE(codec::measured_from(bytes + "x"));

  CHECK(codec::bytes_of(place.measured()) == bytes);  // measured and kept
  CHECK(place.entries().size() == 1);
  CHECK(codec::bytes_of(place.measured()) == bytes);  // recalled
}

TEST_CASE("the entry is what is answered") {
  // Else nothing here would notice a cache that is never read.
  Place place;
  Measured other = place.measured();
  const double true_volume = other.row.fill->value.base();
  other.row.fill->value = millilitres(1);
  const Cache cache(place.settings);
  const auto key = cache.key(place.mold());
  REQUIRE(key);
  cache.keep(*key, other);
  CHECK(in_millilitres(place.measured().row.fill->value) == doctest::Approx(1));
  place.settings.cache.clear();
  CHECK(place.measured().row.fill->value.base() == true_volume);
}

TEST_CASE("other content of the same size and date is another file") {
  Place place;
  write_mesh(place.mold(), cup(30));
  const auto size = fs::file_size(place.mold());
  const auto date = fs::last_write_time(place.mold());
  const double before = place.measured().row.fill->value.base();
  write_mesh(place.mold(), cup(31));
  REQUIRE(fs::file_size(place.mold()) == size);
  fs::last_write_time(place.mold(), date);
  CHECK(place.measured().row.fill->value.base() > before * 1.03);
}

TEST_CASE("a file that has not changed is known without being read") {
  Place place;
  const Measured fresh = place.measured();
  CHECK(place.stamps().empty());  // too young: it might be written again and keep its dates
  place.let_the_mold_age();
  CHECK_FALSE(Cache(place.settings).recall(place.mold()));
  place.measured();  // known by its content, and old enough now
  REQUIRE(place.stamps().size() == 1);
  const auto known = Cache(place.settings).recall(place.mold());
  REQUIRE(known);
  CHECK(codec::bytes_of(*known) == codec::bytes_of(fresh));

  // Measured once it is old, it is known at once; under its own settings only.
  place.settings.fill = *parse_fill_level("50%");
  place.measured();
  CHECK(place.stamps().size() == 2);
  CHECK(Cache(place.settings).recall(place.mold())->row.fill->value.base() ==
        doctest::Approx(fresh.row.fill->value.base() / 2));

  // The stamp is damaged, or the entry behind it: the file is read again, and all is mended.
  place.settings.fill = {};
  for (const fs::path& stamp : place.stamps()) {
    const std::string bytes = text_of(stamp);
    for (std::size_t i = 0; i < bytes.size(); ++i) {
      std::string bad = bytes;
      bad[i] = static_cast<char>(bad[i] ^ (1 << (i % 8)));
      std::ofstream(stamp, std::ios::binary) << bad;
      const auto other = Cache(place.settings).recall(place.mold());
      if (other) CHECK(codec::bytes_of(*other) == codec::bytes_of(fresh));
    }
  }
  CHECK_FALSE(Cache(place.settings).recall(place.mold()));
  CHECK(codec::bytes_of(place.measured()) == codec::bytes_of(fresh));
  CHECK(Cache(place.settings).recall(place.mold()));
  for (const fs::path& entry : place.entries()) fs::resize_file(entry, fs::file_size(entry) - 1);
  CHECK_FALSE(Cache(place.settings).recall(place.mold()));
  CHECK(codec::bytes_of(place.measured()) == codec::bytes_of(fresh));
  CHECK(Cache(place.settings).recall(place.mold()));

  // Other content of the same length, its date set back: the system's own date gives it away.
  const auto size = fs::file_size(place.mold());
  const auto date = fs::last_write_time(place.mold());
  write_mesh(place.mold(), cup(31));
  REQUIRE(fs::file_size(place.mold()) == size);
  fs::last_write_time(place.mold(), date);
  CHECK_FALSE(Cache(place.settings).recall(place.mold()));
  CHECK(place.measured().row.fill->value.base() > fresh.row.fill->value.base() * 1.03);
}

TEST_CASE("other settings and other builds have entries of their own") {
  Place place;
  const double brim = place.measured().row.fill->value.base();
  place.settings.fill = *parse_fill_level("50%");
  CHECK(place.measured().row.fill->value.base() == doctest::Approx(brim / 2));
  CHECK(place.entries().size() == 2);
  place.settings.program = "another";
  place.measured();
  CHECK(place.entries().size() == 3);
  place.settings.jobs = 3;  // how it is done makes no difference
  place.measured();
  CHECK(place.entries().size() == 3);
}

TEST_CASE("the same content elsewhere is known, under its own name") {
  Place place;
  place.measured();
  const fs::path copy = place.path() / "again.obj";
  fs::copy_file(place.mold(), copy);
  const Measured again = measure_all({{copy, 0, {}}}, place.settings).front();
  CHECK(again.row.path == copy.string());
  CHECK(place.entries().size() == 1);
}

TEST_CASE("an entry with any byte changed is measured again") {
  Place place;
  const std::string whole = codec::bytes_of(place.measured());
  const fs::path entry = place.entries().front();
  const std::string bytes = text_of(entry);
  const Cache cache(place.settings);
  const auto key = cache.key(place.mold());
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    std::string bad = bytes;
    bad[i] = static_cast<char>(bad[i] ^ (1 << (i % 8)));
    std::ofstream(entry, std::ios::binary) << bad;
    CHECK_FALSE(cache.find(*key, place.mold()));
  }
  for (const std::size_t n : {std::size_t{0}, std::size_t{20}, bytes.size() - 1}) {
    std::ofstream(entry, std::ios::binary) << bytes.substr(0, n);
    CHECK_FALSE(cache.find(*key, place.mold()));
  }
  std::ofstream(entry, std::ios::binary) << bytes << "more";
  CHECK_FALSE(cache.find(*key, place.mold()));
  CHECK(codec::bytes_of(place.measured()) == whole);
  CHECK(text_of(entry) == bytes);  // mended
}

TEST_CASE("a file that cannot be measured is remembered too, unless something else may help") {
  Place place;
  std::ofstream(place.mold()) << "v 0 0 0\nf 1 2 3\n";
  const auto first = place.measured().row.error;
  REQUIRE(first);
  CHECK(place.entries().size() == 1);
  CHECK(place.measured().row.error->text == first->text);
  fs::remove(place.mold());
  CHECK(place.measured().row.error->code == Code::file_missing);
  CHECK(place.entries().size() == 1);
  // Its words name the file, so they serve no other.
  const fs::path other = place.path() / "other.obj";
  std::ofstream(other) << "v 0 0 0\nf 1 2 3\n";
  const auto again = measure_all({{other, 0, {}}}, place.settings).front().row.error;
  REQUIRE(again);
  CHECK(again->text.find("cup.obj") == std::string::npos);
}

TEST_CASE("where nothing can be kept everything is measured all the same") {
  Place place;
  std::ofstream(place.path() / "file") << "x";
  place.settings.cache = place.path() / "file" / "cache";
  CHECK(place.measured().row.fill);
  place.settings.cache = "/proc/nowhere";
  CHECK(place.measured().row.fill);
}

TEST_CASE("the folder is the owner's alone") {
  Place place;
  place.measured();
  CHECK(fs::status(place.settings.cache).permissions() == fs::perms::owner_all);
}
