// SPDX-License-Identifier: GPL-3.0-or-later
// ASCII STL as it is written, not only as it is specified: any case, several solids, no `endsolid`, facets
// with more than three corners, everything on one line. Normals are skipped unread: the corners decide.
#include "geometry/intake/readers.hpp"
#include "geometry/intake/text_reader.hpp"
#include "geometry/mesh/vertex_welder.hpp"

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

using TextWelder = VertexWelder<double>;

class AsciiStl {
 public:
  AsciiStl(ByteWindow& bytes, const Job& job) : text_(bytes), job_(job), scale_(job.scale()) {}
  Expected<MeshFile> read();

 private:
  std::optional<Problem> read_facet();
  std::optional<Problem> read_corner();
  std::optional<Problem> expect(std::string_view word);
  bool solid_line_holds_facet();
  Problem unexpected(std::string_view wanted);
  void finish_facet();
  void flush();
  void guess_sizes();
  Expected<MeshFile> finish();

  TextReader text_;
  const Job& job_;
  double scale_;
  TextWelder welder_{1024};
  std::vector<Triangle> triangles_;
  std::vector<TextWelder::Point> facet_;  // corners of the facet being read
  std::array<TextWelder::Point, TextWelder::batch> waiting_;
  std::size_t waiting_count_ = 0;
  std::vector<Index> polygon_corners_, polygon_sizes_;
  std::size_t solids_ = 0, skipped_ = 0;
  bool ended_ = false;
};

Problem AsciiStl::unexpected(std::string_view wanted) {
  if (text_.at_end())
    return cut_off(job_, fmt::format("line {} should go on with “{}”", text_.line(), wanted));
  return fail(Code::file_malformed,
              fmt::format("{}, line {}: “{}” where “{}” should stand", job_.label, text_.line(),
                          excerpt(text_.word()), wanted),
              "export the mesh again, or as binary STL");
}

std::optional<Problem> AsciiStl::expect(std::string_view word) {
  text_.peek_across_lines();
  if (!is_word(text_.word(), word)) return unexpected(word);
  text_.take_word();
  return std::nullopt;
}

/// After `solid`: the name runs to the end of the line, unless the first facet stands there too.
bool AsciiStl::solid_line_holds_facet() {
  for (char c = text_.peek(); c != '\0' && !TextReader::ends_line(c); c = text_.peek()) {
    const bool facet = is_word(text_.word(), "facet");
    text_.take_word();
    while (text_.peek() == '\0' && !text_.at_end()) text_.take();  // names hold all sorts of things
    if (facet && is_word(text_.word(), "normal")) return true;
  }
  return false;
}

std::optional<Problem> AsciiStl::read_corner() {
  TextWelder::Point p;
  for (double& x : p) {
    text_.peek();
    const Parsed parsed = text_.number(x);
    if (parsed != Parsed::ok) [[unlikely]] {
      if (text_.at_end()) return unexpected("a coordinate");
      return bad_number(parsed, job_.label, text_.line(), text_.word(), "coordinate");
    }
    x = positive_zero(x * scale_);
    if (!std::isfinite(x)) return not_finite(job_, fmt::format("line {}", text_.line()));
  }
  facet_.push_back(p);
  return std::nullopt;
}

/// After `facet`.
std::optional<Problem> AsciiStl::read_facet() {
  // "normal" and three words, numbers or not.
  for (int words = 0; text_.peek_across_lines() != '\0' && words < 5; ++words) {
    if (is_word(text_.word(), "outer")) break;
    text_.take_word();
  }
  if (auto problem = expect("outer")) return problem;
  if (auto problem = expect("loop")) return problem;
  facet_.clear();
  while (true) {
    text_.peek_across_lines();
    const std::string_view word = text_.word();
    if (word == "vertex" || is_word(word, "vertex")) {
      text_.bytes().cursor += word.size();
      if (auto problem = read_corner()) return problem;
    } else if (is_word(word, "endloop")) {
      text_.take_word();
      break;
    } else {
      return unexpected(facet_.size() < 3 ? "vertex" : "endloop");
    }
  }
  if (auto problem = expect("endfacet")) return problem;
  finish_facet();
  return std::nullopt;
}

void AsciiStl::finish_facet() {
  if (facet_.size() == 3) {
    std::copy(facet_.begin(), facet_.end(), waiting_.begin() + static_cast<std::ptrdiff_t>(waiting_count_));
    waiting_count_ += 3;
    if (waiting_count_ == waiting_.size()) flush();
  } else if (facet_.size() < 3) {
    ++skipped_;
  } else {
    flush();
    polygon_sizes_.push_back(static_cast<Index>(facet_.size()));
    for (std::size_t i = 0; i < facet_.size(); i += TextWelder::batch) {
      const std::size_t n = std::min(TextWelder::batch, facet_.size() - i);
      const std::size_t at = polygon_corners_.size();
      polygon_corners_.resize(at + n);
      welder_.add(&facet_[i], n, &polygon_corners_[at]);
    }
  }
}

void AsciiStl::flush() {
  if (waiting_count_ == 0) return;
  const std::size_t at = triangles_.size();
  triangles_.resize(at + waiting_count_ / 3);
  welder_.add(waiting_.data(), waiting_count_, triangles_[at].data());
  waiting_count_ = 0;
  if (at < 1024 && triangles_.size() >= 1024) guess_sizes();
}

/// Facets are all of about one length, so a thousand of them tell how many there will be.
void AsciiStl::guess_sizes() {
  const ByteWindow& bytes = text_.bytes();
  const double share = static_cast<double>(bytes.size()) / static_cast<double>(bytes.position());
  const auto count = static_cast<std::size_t>(static_cast<double>(triangles_.size()) * share * 1.02);
  triangles_.reserve(std::min(count, job_.max_triangles));
  welder_.expect(std::min(count, job_.max_triangles) / 2);
}

Expected<MeshFile> AsciiStl::finish() {
  flush();
  MeshFile result = job_.start(MeshFormat::stl_ascii);
  if (triangles_.empty() && polygon_sizes_.empty())
    return no_triangles(job_, "it has no facet with three corners");
  std::vector<Vec3> vertices = std::move(welder_).take(1);
  if (polygon_sizes_.empty() && skipped_ == 0) {
    result.soup = {std::move(vertices), std::move(triangles_)};
  } else {
    FaceCollector collector(job_);
    collector.vertices = std::move(vertices);
    for (const Triangle& t : triangles_) collector.triangle(t[0], t[1], t[2]);
    const Index* corner = polygon_corners_.data();
    for (const Index n : polygon_sizes_) {
      collector.face({corner, n});
      corner += n;
    }
    for (; skipped_ > 0; --skipped_) collector.face({});
    Expected<MeshFile> collected = std::move(collector).finish(std::move(result), 1);
    if (!collected) return collected;
    result = *std::move(collected);
  }
  if (solids_ > 1)
    note(result.notes, "several-solids",
         fmt::format("the file holds {} solids; they were read as one mesh", solids_));
  if (!ended_)
    note(result.notes, "endsolid-missing",
         "the file does not end with “endsolid”; if it was cut off, triangles are missing", true);
  return result;
}

Expected<MeshFile> AsciiStl::read() {
  const std::size_t most = std::min(job_.max_triangles, most_triangles);
  while (true) {
    const char c = text_.peek_across_lines();
    if (c == '\0' && text_.at_end()) break;
    const std::string_view word = text_.word();
    bool facet = is_word(word, "facet");
    if (facet) {
      text_.take_word();
    } else if (is_word(word, "solid")) {
      text_.take_word();
      ++solids_;
      ended_ = false;
      facet = solid_line_holds_facet();
    } else if (is_word(word, "endsolid")) {
      ended_ = true;
      text_.skip_line();
    } else if (c == '#') {
      text_.skip_line();
    } else {
      return unexpected(solids_ == 0 ? "solid" : "facet");
    }
    if (!facet) continue;
    ended_ = false;
    if (auto problem = read_facet()) return *problem;
    if (triangles_.size() + polygon_sizes_.size() > most) return too_many_triangles(job_);
  }
  if (triangles_.size() + waiting_count_ / 3 > most) return too_many_triangles(job_);
  return finish();
}

}  // namespace

Expected<MeshFile> read_stl_ascii(ByteWindow& bytes, const Job& job) {
  return AsciiStl(bytes, job).read();
}

}  // namespace pourwright::intake
