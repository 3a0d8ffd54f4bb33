// SPDX-License-Identifier: GPL-3.0-or-later
// OFF as Geomview's manual describes it (oogl, section OFF): optional ST, C and N prefixes, comments, one row
// to a line. Texture coordinates, colours and normals behind the coordinates are skipped with the rest of
// their line. Some programs write several vertices, or all of them, in one line: where a file without prefix
// has more numbers in the first vertex's line than one vertex can have, they are a stream.
#include "geometry/intake/readers.hpp"
#include "geometry/intake/text_reader.hpp"

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

class Off {
 public:
  Off(ByteWindow& bytes, const Job& job) : text_(bytes), job_(job), faces_(job) {}
  Expected<MeshFile> read();

 private:
  char next_row();
  std::optional<Problem> read_keyword();
  std::optional<Problem> read_counts();
  std::optional<Problem> read_vertices();
  std::optional<Problem> coordinate(double& out, std::uint64_t vertex);
  void look_along_the_line();
  std::optional<Problem> read_faces();
  std::optional<Problem> whole(std::int64_t& out, std::string_view what);
  Problem malformed(std::string_view what, std::string_view hint = "export the mesh again, or as binary STL");
  std::string line() const { return fmt::format("line {}", text_.line()); }

  TextReader text_;
  const Job& job_;
  FaceCollector faces_;
  std::uint64_t vertex_count_ = 0, face_count_ = 0;
  bool prefixed_ = false;
  bool stream_ = false;        // vertices follow each other without regard to lines
  std::vector<double> ahead_;  // of the stream, taken to see that it is one
  std::size_t taken_ = 0;      // of these
};

/// Behind x, y and z: a normal, a colour of four and two texture coordinates.
constexpr std::size_t most_behind = 9;

Problem Off::malformed(std::string_view what, std::string_view hint) {
  return fail(Code::file_malformed, fmt::format("{}, {}: {}", job_.label, line(), what), std::string(hint));
}

/// To the first character of the next line that holds anything.
char Off::next_row() {
  char c = text_.peek_across_lines();
  while (c == '#') {
    text_.skip_line();
    c = text_.peek_across_lines();
  }
  return c;
}

std::optional<Problem> Off::read_keyword() {
  next_row();
  const std::string_view word = text_.word();
  if (word.size() < 3 || !is_word(word.substr(word.size() - 3), "off"))
    return std::nullopt;  // it may be left out
  std::string_view prefix = word.substr(0, word.size() - 3);
  prefixed_ = !prefix.empty();
  if (prefix.starts_with("ST")) prefix.remove_prefix(2);
  if (prefix.starts_with("C")) prefix.remove_prefix(1);
  if (prefix.starts_with("N")) prefix.remove_prefix(1);
  if (!prefix.empty()) return malformed(fmt::format("“{}” is not a mesh in three dimensions", excerpt(word)));
  text_.take_word();
  text_.peek();
  if (is_word(text_.word(), "binary"))
    return malformed("binary OFF is not read", "export the mesh as text OFF, PLY or STL");
  return std::nullopt;
}

std::optional<Problem> Off::whole(std::int64_t& out, std::string_view what) {
  const char c = text_.peek();
  const char* p = text_.bytes().cursor;
  if (parse_integer(p, out) && static_cast<unsigned char>(*p) <= ' ') {
    text_.bytes().cursor = p;
    if (out < 0) return malformed(fmt::format("{} is {}", what, out));
    return std::nullopt;
  }
  if (c == '\0' && text_.at_end()) return cut_off(job_, fmt::format("it ends before {}", what));
  return malformed(TextReader::ends_line(c)
                       ? fmt::format("{} is missing", what)
                       : fmt::format("“{}” where {} should stand", excerpt(text_.word()), what));
}

std::optional<Problem> Off::read_counts() {
  std::int64_t vertices = 0, faces = 0;
  next_row();
  if (auto problem = whole(vertices, "the number of vertices")) return problem;
  if (auto problem = whole(faces, "the number of faces")) return problem;
  text_.skip_line();  // the number of edges, right or wrong, is not needed
  vertex_count_ = static_cast<std::uint64_t>(vertices);
  face_count_ = static_cast<std::uint64_t>(faces);
  // "0 0 0" and a line end; "0" and a line end; the last line end may be missing.
  const std::uint64_t left = text_.bytes().remaining() + 1;
  if (vertex_count_ > left / 6 || face_count_ > (left - 6 * vertex_count_) / 2)
    return cut_off(job_,
                   fmt::format("it promises {} vertices and {} faces, more than the bytes left can hold",
                               vertex_count_, face_count_));
  if (vertex_count_ > most_vertices) return too_many_triangles(job_);
  return std::nullopt;
}

std::optional<Problem> Off::coordinate(double& out, std::uint64_t vertex) {
  if (taken_ < ahead_.size()) {
    out = ahead_[taken_++];
    return std::nullopt;
  }
  const char c = stream_ ? next_row() : text_.peek();
  const Parsed parsed = text_.number(out);
  if (parsed == Parsed::ok) return std::nullopt;
  if (c == '\0' && text_.at_end())
    return cut_off(job_, fmt::format("{} of {} vertices are there", vertex, vertex_count_));
  return bad_number(parsed, job_.label, text_.line(), text_.word(), "coordinate");
}

/// After the first vertex: does its line go on as no single vertex's can?
void Off::look_along_the_line() {
  double number = 0;
  while (ahead_.size() <= most_behind) {
    text_.peek();
    if (text_.number(number) != Parsed::ok) break;
    ahead_.push_back(number);
  }
  stream_ = ahead_.size() > most_behind && ahead_.size() <= 3 * (vertex_count_ - 1);
  if (!stream_) ahead_.clear();
}

std::optional<Problem> Off::read_vertices() {
  faces_.vertices.reserve(static_cast<std::size_t>(vertex_count_));
  for (std::uint64_t i = 0; i < vertex_count_; ++i) {
    if (!stream_) next_row();
    Vec3 p;
    for (int axis = 0; axis < 3; ++axis)
      if (auto problem = coordinate(p[axis], i)) return problem;
    faces_.vertices.push_back(p);
    if (i == 0 && !prefixed_) look_along_the_line();
    if (!stream_ || i + 1 == vertex_count_) text_.skip_line();
  }
  return std::nullopt;
}

std::optional<Problem> Off::read_faces() {
  std::vector<Index> corners;
  for (std::uint64_t i = 0; i < face_count_; ++i) {
    if (next_row() == '\0' && text_.at_end())
      return cut_off(job_, fmt::format("{} of {} faces are there", i, face_count_));
    std::int64_t n = 0, index = 0;
    if (auto problem = whole(n, "the number of corners")) return problem;
    corners.clear();
    for (; n > 0; --n) {
      if (auto problem = whole(index, "the index of a corner")) return problem;
      if (static_cast<std::uint64_t>(index) >= vertex_count_)
        return bad_index(job_, line(), index, vertex_count_);
      corners.push_back(static_cast<Index>(index));
    }
    faces_.face(corners);
    if (faces_.full()) return too_many_triangles(job_);
    text_.skip_line();
  }
  return std::nullopt;
}

Expected<MeshFile> Off::read() {
  if (auto problem = read_keyword()) return *problem;
  if (auto problem = read_counts()) return *problem;
  if (face_count_ == 0)
    return no_triangles(job_, vertex_count_ > 0 ? "it has points but no faces" : "it is empty");
  if (auto problem = read_vertices()) return *problem;
  if (auto problem = read_faces()) return *problem;
  MeshFile result = job_.start(MeshFormat::off);
  if (next_row() != '\0' || !text_.at_end())
    note(result.notes, "trailing-bytes",
         fmt::format("what follows the faces from line {} was ignored", text_.line()));
  return std::move(faces_).finish(std::move(result), job_.scale());
}

}  // namespace

Expected<MeshFile> read_off(ByteWindow& bytes, const Job& job) {
  return Off(bytes, job).read();
}

}  // namespace pourwright::intake
