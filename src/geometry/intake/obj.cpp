// SPDX-License-Identifier: GPL-3.0-or-later
// Wavefront OBJ: vertices and faces. Texture coordinates, normals, groups and materials are skipped, and no
// second file is opened whatever `mtllib` or `call` say.
#include "geometry/intake/readers.hpp"
#include "geometry/intake/text_reader.hpp"

#include <array>

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

using Words = std::span<const std::string_view>;
constexpr std::array<std::string_view, 27> ignored{
    "vt",        "vn",     "vp",    "g",    "o",     "s",        "mg",       "usemtl", "mtllib",
    "usemap",    "maplib", "l",     "p",    "bevel", "c_interp", "d_interp", "lod",    "shadow_obj",
    "trace_obj", "ctech",  "stech", "call", "csh",   "end",      "con",      "res",    "deg"};
constexpr std::array<std::string_view, 13> free_form{
    "cstype", "bmat", "step", "curv", "curv2", "surf", "parm", "trim", "hole", "scrv", "sp", "bzp", "bsp"};
bool among(Words words, std::string_view word) {
  return std::any_of(words.begin(), words.end(), [&](std::string_view w) { return is_word(word, w); });
}

class Obj {
 public:
  Obj(ByteWindow& bytes, const Job& job) : text_(bytes), job_(job), faces_(job) {}
  Expected<MeshFile> read();

 private:
  char peek();
  bool at_row_end(char c) { return TextReader::ends_line(c) || c == '#' || (c == '\0' && text_.at_end()); }
  void skip_statement();
  std::optional<Problem> read_statement(char first);
  std::optional<Problem> read_vertex();
  std::optional<Problem> read_face();
  std::optional<Problem> read_corner();
  Problem malformed(std::string_view what);

  TextReader text_;
  const Job& job_;
  FaceCollector faces_;
  std::vector<Index> corners_;
  std::int64_t furthest_ = 0;  // largest index that named a vertex still to come, and its line
  std::uint64_t furthest_line_ = 0;
  std::size_t unknown_ = 0;
  std::uint64_t unknown_line_ = 0;
  std::string unknown_word_;
  bool free_form_ = false;
};

/// Like TextReader::peek, over continued lines: a backslash right before the line end.
char Obj::peek() {
  char c = text_.peek();
  while (c == '\\' && TextReader::ends_line(text_.bytes().cursor[1])) {
    text_.take();
    text_.take_line_end();
    c = text_.peek();
  }
  return c;
}

void Obj::skip_statement() {
  while (text_.skip_line() == '\\') {
  }
}

Problem Obj::malformed(std::string_view what) {
  return fail(Code::file_malformed, fmt::format("{}, line {}: {}", job_.label, text_.line(), what),
              "export the mesh again, or as binary STL");
}

std::optional<Problem> Obj::read_vertex() {
  Vec3 p;
  for (int axis = 0; axis < 3; ++axis) {
    const char c = peek();
    const Parsed parsed = text_.number(p[axis]);
    if (parsed != Parsed::ok) [[unlikely]] {
      if (c == '\0' && text_.at_end())
        return cut_off(job_, fmt::format("line {} ends inside a vertex", text_.line()));
      return bad_number(parsed, job_.label, text_.line(), at_row_end(c) ? std::string_view() : text_.word(),
                        "coordinate");
    }
  }
  faces_.vertices.push_back(p);
  // A weight or a colour may follow.
  const char c = peek();
  if (TextReader::ends_line(c))
    text_.take_line_end();
  else
    skip_statement();
  return std::nullopt;
}

/// One of "7", "7/1", "7//3", "7/1/3", each possibly negative.
std::optional<Problem> Obj::read_corner() {
  std::int64_t index = 0;
  const char* p = text_.bytes().cursor;
  const bool number = parse_integer(p, index);
  while (number && (*p == '/' || *p == '-' || *p == '+' || detail::is_digit(*p))) ++p;
  if (!number || !TextReader::ends_word(p))
    return malformed(fmt::format("“{}” is not the corner of a face", excerpt(text_.word())));
  const auto count = static_cast<std::int64_t>(faces_.vertices.size());
  if (index == 0)
    return fail(
        Code::index_out_of_range,
        fmt::format("{}, line {}: the face uses vertex 0, but OBJ counts from 1", job_.label, text_.line()),
        "the exporting program counts wrongly; export as STL or PLY instead");
  if (index < 0 && -index > count)
    return bad_index(job_, fmt::format("line {}", text_.line()), index, faces_.vertices.size());
  if (index > count && index > furthest_) {
    furthest_ = index;
    furthest_line_ = text_.line();
  }
  corners_.push_back(static_cast<Index>(index < 0 ? count + index : index - 1));
  text_.bytes().cursor = p;
  return std::nullopt;
}

std::optional<Problem> Obj::read_face() {
  corners_.clear();
  char c = peek();
  for (; !at_row_end(c); c = peek())
    if (auto problem = read_corner()) return problem;
  faces_.face(corners_);
  if (TextReader::ends_line(c))
    text_.take_line_end();
  else
    skip_statement();
  return std::nullopt;
}

std::optional<Problem> Obj::read_statement(char first) {
  const char* const at = text_.bytes().cursor;
  const bool short_word = at[1] == ' ' || at[1] == '\t';
  if (short_word && (first == 'v' || first == 'V')) {
    text_.take();
    return read_vertex();
  }
  if (short_word && (first == 'f' || first == 'F')) {
    text_.take();
    return read_face();
  }
  if (first == '#') {
    text_.skip_line();
    return std::nullopt;
  }
  const std::string_view word = text_.word();
  if (is_word(word, "fo")) {  // a face in files from before version 3.0
    text_.take_word();
    return read_face();
  }
  if (is_word(word, "v") || is_word(word, "f"))
    return malformed(fmt::format("“{}” with nothing behind it", word));
  if (among(free_form, word))
    free_form_ = true;
  else if (!among(ignored, word) && unknown_++ == 0) {
    unknown_line_ = text_.line();
    unknown_word_ = excerpt(word);
  }
  skip_statement();
  return std::nullopt;
}

Expected<MeshFile> Obj::read() {
  while (true) {
    const char c = peek();
    if (TextReader::ends_line(c)) {
      text_.take_line_end();
      continue;
    }
    if (c == '\0' && text_.at_end()) break;
    if (auto problem = read_statement(c)) return *problem;
    if (faces_.full()) return too_many_triangles(job_);
  }
  if (furthest_ > static_cast<std::int64_t>(faces_.vertices.size()))
    return bad_index(job_, fmt::format("line {}", furthest_line_), furthest_, faces_.vertices.size());
  MeshFile result = job_.start(MeshFormat::obj);
  if (free_form_)
    note(result.notes, "free-form-ignored", "curves and free-form surfaces in the file were not read", true);
  if (unknown_ > 0)
    note(result.notes, "unknown-lines",
         fmt::format("{} lines were not understood and left out, the first is line {}: “{}”", unknown_,
                     unknown_line_, unknown_word_),
         true);
  return std::move(faces_).finish(std::move(result), job_.scale());
}

}  // namespace

Expected<MeshFile> read_obj(ByteWindow& bytes, const Job& job) {
  return Obj(bytes, job).read();
}

}  // namespace pourwright::intake
