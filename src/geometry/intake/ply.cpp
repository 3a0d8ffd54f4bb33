// SPDX-License-Identifier: GPL-3.0-or-later
// PLY, ASCII and binary of either byte order. Reads x, y, z of `vertex`, the index list of `face` and of
// `tristrips`; every other element and property is stepped over.
#include "geometry/intake/ply_header.hpp"
#include "geometry/intake/readers.hpp"
#include "geometry/intake/scalars.hpp"
#include "geometry/intake/text_reader.hpp"

#include <fmt/format.h>

namespace pourwright::intake {
namespace {

template <std::endian order>
double load_any(PlyType type, const char* at) {
  switch (type) {
    using enum PlyType;
    case int8:
      return load_scalar<std::int8_t, order>(at);
    case uint8:
      return load_scalar<std::uint8_t, order>(at);
    case int16:
      return load_scalar<std::int16_t, order>(at);
    case uint16:
      return load_scalar<std::uint16_t, order>(at);
    case int32:
      return load_scalar<std::int32_t, order>(at);
    case uint32:
      return load_scalar<std::uint32_t, order>(at);
    case int64:
      return static_cast<double>(load_scalar<std::int64_t, order>(at));
    case uint64:
      return static_cast<double>(load_scalar<std::uint64_t, order>(at));
    case float32:
      return static_cast<double>(load_scalar<float, order>(at));
    case float64:
      return load_scalar<double, order>(at);
  }
  return 0;
}

/// What the two kinds of faces have in common, and where vertices go.
class PlySink {
 public:
  PlySink(const Job& job, std::uint64_t vertices) : faces(job), vertex_count(vertices), job_(job) {}

  template <class Rows>
  std::optional<Problem> index(double value, const Rows& rows) {
    if (!(value >= 0 && value < static_cast<double>(vertex_count)) || value != std::floor(value))
      return std::abs(value) < 1e18
                 ? bad_index(job_, rows.place(), static_cast<std::int64_t>(value), vertex_count)
                 : fail(Code::index_out_of_range,
                        fmt::format("{}, {}: {} is no index of a vertex", job_.label, rows.place(), value),
                        "the file is damaged; export it again");
    corners.push_back(static_cast<Index>(value));
    return std::nullopt;
  }
  /// A strip turns over with every step; −1 starts a new one.
  template <class Rows>
  std::optional<Problem> strip_index(double value, const Rows& rows) {
    if (value == -1) {
      corners.clear();
      return std::nullopt;
    }
    if (auto problem = index(value, rows)) return problem;
    const std::size_t n = corners.size();
    if (n < 3) return std::nullopt;
    const Index a = corners[n - 3], b = corners[n - 2], c = corners[n - 1];
    if (a != b && b != c && a != c) n % 2 == 1 ? faces.triangle(a, b, c) : faces.triangle(b, a, c);
    if (n >= 4096 && n % 2 == 0) corners.erase(corners.begin(), corners.end() - 2);
    return std::nullopt;
  }

  FaceCollector faces;
  std::vector<Index> corners;
  std::uint64_t vertex_count;

 private:
  const Job& job_;
};

/// The rows of one encoding. A row source offers `check_room`, `next_row`, `value`, `list_length`,
/// `skip`, `end_row`, `bytes_left` and `place`.
template <std::endian order>
class BinaryRows {
 public:
  BinaryRows(ByteWindow& bytes, const Job& job) : bytes_(bytes), job_(job) {}

  std::optional<Problem> check_room(const PlyElement& e) const {
    const std::uint64_t row = e.fewest_bytes();
    if (row == 0 || e.count <= bytes_.remaining() / row) return std::nullopt;
    return cut_off(job_, fmt::format("the header promises {} rows of “{}”, the bytes left hold at most {}",
                                     e.count, excerpt(e.name), bytes_.remaining() / row));
  }
  /// For making room: a triangle takes a length and three indices.
  std::uint64_t most_triangles(const PlyProperty& list) const {
    return bytes_.remaining() / (bytes_of(*list.count) + 3 * bytes_of(list.type));
  }
  std::uint64_t bytes_left() const { return bytes_.remaining(); }
  std::optional<Problem> next_row(const PlyElement& e, std::uint64_t row) {
    element_ = &e;
    row_ = row;
    return std::nullopt;
  }
  std::optional<Problem> value(PlyType type, double& out) {
    const std::size_t n = bytes_of(type);
    if (!bytes_.want(n)) return cut_off(job_, "it ends in " + place());
    out = load_any<order>(type, bytes_.cursor);
    bytes_.cursor += n;
    return std::nullopt;
  }
  std::optional<Problem> list_length(const PlyProperty& p, std::uint64_t& out) {
    double n = 0;
    if (auto problem = value(*p.count, n)) return problem;
    if (n < 0)
      return fail(Code::file_malformed, fmt::format("{}, {}: a list of {} values", job_.label, place(), n),
                  "export the mesh again");
    if (n > static_cast<double>(bytes_.remaining() / bytes_of(p.type)))
      return cut_off(job_, "it ends in " + place());
    out = static_cast<std::uint64_t>(n);
    return std::nullopt;
  }
  std::optional<Problem> skip(const PlyProperty& p) {
    std::uint64_t n = 1;
    if (p.count)
      if (auto problem = list_length(p, n)) return problem;
    if (!bytes_.skip(n * bytes_of(p.type))) return cut_off(job_, "it ends in " + place());
    return std::nullopt;
  }
  std::optional<Problem> end_row() { return std::nullopt; }
  std::string place() const { return fmt::format("{} {}", excerpt(element_->name), row_ + 1); }

  /// Vertices that are rows of plain numbers of one size, x, y and z all `Scalar`.
  template <class Scalar>
  std::optional<Problem> fast_vertices(const PlyElement& e, const std::array<std::size_t, 3>& offsets,
                                       std::vector<Vec3>& out) {
    const auto stride = static_cast<std::size_t>(e.fewest_bytes());
    out.reserve(static_cast<std::size_t>(e.count));
    for (std::uint64_t row = 0; row < e.count;) {
      next_row(e, row);
      if (!bytes_.want(stride)) return cut_off(job_, "it ends in " + place());
      const std::uint64_t n = std::min<std::uint64_t>(bytes_.have() / stride, e.count - row);
      for (std::uint64_t i = 0; i < n; ++i, bytes_.cursor += stride) {
        const auto x = static_cast<double>(load_scalar<Scalar, order>(bytes_.cursor + offsets[0]));
        const auto y = static_cast<double>(load_scalar<Scalar, order>(bytes_.cursor + offsets[1]));
        const auto z = static_cast<double>(load_scalar<Scalar, order>(bytes_.cursor + offsets[2]));
        // x − x is zero for finite x only.
        if ((x - x) + (y - y) + (z - z) != 0) return not_finite(job_, fmt::format("vertex {}", row + i + 1));
        out.emplace_back(x, y, z);
      }
      row += n;
    }
    return std::nullopt;
  }

  /// As many rows as are triangles "3 a b c" with a one-byte length and four-byte indices; returns how many.
  std::uint64_t fast_triangles(std::uint64_t rows, PlySink& sink) {
    constexpr std::size_t row = 13;
    if (!bytes_.want(row)) return 0;
    const std::uint64_t most = std::min<std::uint64_t>(rows, bytes_.have() / row);
    std::uint64_t done = 0;
    for (; done < most && *bytes_.cursor == 3; ++done) {
      const auto a = load_scalar<std::uint32_t, order>(bytes_.cursor + 1);
      const auto b = load_scalar<std::uint32_t, order>(bytes_.cursor + 5);
      const auto c = load_scalar<std::uint32_t, order>(bytes_.cursor + 9);
      if (std::max({a, b, c}) >= sink.vertex_count) break;
      sink.faces.triangle(a, b, c);
      bytes_.cursor += row;
    }
    return done;
  }

 private:
  ByteWindow& bytes_;
  const Job& job_;
  const PlyElement* element_ = nullptr;
  std::uint64_t row_ = 0;
};

class TextRows {
 public:
  TextRows(ByteWindow& bytes, const Job& job, std::uint64_t header_lines)
      : text_(bytes), job_(job), header_lines_(header_lines) {}

  /// A value takes a digit and a blank at least; the last line may lack its end.
  std::optional<Problem> check_room(const PlyElement& e) {
    const std::uint64_t row = 2 * e.properties.size(), left = text_.bytes().remaining() + 1;
    if (row == 0 || e.count <= left / row) return std::nullopt;
    return cut_off(job_, fmt::format("the header promises {} rows of “{}”, the bytes left hold at most {}",
                                     e.count, excerpt(e.name), left / row));
  }
  std::uint64_t most_triangles(const PlyProperty&) { return text_.bytes().remaining() / 8 + 1; }
  std::uint64_t bytes_left() {
    text_.peek_across_lines();
    return text_.bytes().remaining();
  }
  std::optional<Problem> next_row(const PlyElement& e, std::uint64_t row) {
    text_.peek_across_lines();
    if (text_.at_end())
      return cut_off(job_, fmt::format("{} of {} rows of “{}” are there", row, e.count, excerpt(e.name)));
    return std::nullopt;
  }
  std::optional<Problem> value(PlyType, double& out) {
    const char c = text_.peek();
    const Parsed parsed = text_.number(out);
    if (parsed == Parsed::ok) return std::nullopt;
    if (c == '\0' && text_.at_end()) return cut_off(job_, "it ends in " + place());
    if (TextReader::ends_line(c))
      return fail(Code::file_malformed,
                  fmt::format("{}, {}: the row has fewer values than the header says", job_.label, place()),
                  "export the mesh again");
    return bad_number(parsed, job_.label, header_lines_ + text_.line(), text_.word(), "value");
  }
  std::optional<Problem> list_length(const PlyProperty& p, std::uint64_t& out) {
    double n = 0;
    if (auto problem = value(*p.count, n)) return problem;
    if (n < 0 || n != std::floor(n))
      return fail(Code::file_malformed, fmt::format("{}, {}: a list of {} values", job_.label, place(), n),
                  "export the mesh again");
    if (n > static_cast<double>(text_.bytes().remaining())) return cut_off(job_, "it ends in " + place());
    out = static_cast<std::uint64_t>(n);
    return std::nullopt;
  }
  /// Values nobody needs are not read as numbers: a nan among the normals does no harm.
  std::optional<Problem> skip(const PlyProperty& p) {
    std::uint64_t n = 1;
    if (p.count)
      if (auto problem = list_length(p, n)) return problem;
    for (; n > 0; --n) {
      text_.peek();
      if (text_.word().empty()) {
        double unused = 0;
        return value(p.type, unused);
      }
      text_.take_word();
    }
    return std::nullopt;
  }
  std::optional<Problem> end_row() {
    const char c = text_.peek();
    if (!TextReader::ends_line(c) && !text_.at_end()) ++rows_with_more_;
    text_.skip_line();
    return std::nullopt;
  }
  std::string place() const { return fmt::format("line {}", header_lines_ + text_.line()); }
  std::uint64_t rows_with_more() const { return rows_with_more_; }

 private:
  TextReader text_;
  const Job& job_;
  std::uint64_t header_lines_, rows_with_more_ = 0;
};

template <class Rows>
class PlyBody {
 public:
  PlyBody(Rows& rows, const PlyHeader& header, const Job& job, PlySink& sink)
      : rows_(rows), header_(header), job_(job), sink_(sink) {}

  std::optional<Problem> read() {
    for (const PlyElement& e : header_.elements) {
      if (e.properties.empty()) continue;
      if (auto problem = rows_.check_room(e)) return problem;
      auto problem = is_word(e.name, "vertex")      ? read_vertices(e)
                     : is_word(e.name, "face")      ? read_faces(e, false)
                     : is_word(e.name, "tristrips") ? read_faces(e, true)
                                                    : skip_rows(e);
      if (problem) return problem;
      if (sink_.faces.full()) return too_many_triangles(job_);
    }
    return std::nullopt;
  }

 private:
  std::optional<Problem> read_vertices(const PlyElement& e) {
    const std::array<int, 3> axes{e.find({"x"}), e.find({"y"}), e.find({"z"})};
    if (auto problem = read_plain_vertices(e, axes)) return *problem;
    auto& vertices = sink_.faces.vertices;
    if (vertices.size() == e.count) return std::nullopt;
    vertices.reserve(static_cast<std::size_t>(e.count));
    for (std::uint64_t row = 0; row < e.count; ++row) {
      if (auto problem = rows_.next_row(e, row)) return problem;
      Vec3 p;
      for (int i = 0; i < static_cast<int>(e.properties.size()); ++i) {
        const PlyProperty& property = e.properties[static_cast<std::size_t>(i)];
        const auto axis = std::find(axes.begin(), axes.end(), i) - axes.begin();
        if (auto problem = axis < 3 ? rows_.value(property.type, p[axis]) : rows_.skip(property))
          return problem;
      }
      if (!p.allFinite())
        return not_finite(job_,
                          std::is_same_v<Rows, TextRows> ? rows_.place() : fmt::format("vertex {}", row + 1));
      if (auto problem = rows_.end_row()) return problem;
      vertices.push_back(p);
    }
    return std::nullopt;
  }

  /// The common case of binary files. Does nothing when the rows are of another make.
  std::optional<Problem> read_plain_vertices(const PlyElement& e, const std::array<int, 3>& axes) {
    if constexpr (std::is_same_v<Rows, TextRows>)
      return std::nullopt;
    else {
      std::array<std::size_t, 3> offsets{};
      const auto& properties = e.properties;
      const PlyType type = properties[static_cast<std::size_t>(axes[0])].type;
      if (type != PlyType::float32 && type != PlyType::float64) return std::nullopt;
      for (const PlyProperty& p : properties)
        if (p.count) return std::nullopt;
      for (std::size_t k = 0; k < 3; ++k) {
        const auto axis = static_cast<std::size_t>(axes[k]);
        if (properties[axis].type != type) return std::nullopt;
        for (std::size_t i = 0; i < axis; ++i) offsets[k] += bytes_of(properties[i].type);
      }
      auto& out = sink_.faces.vertices;
      return type == PlyType::float32 ? rows_.template fast_vertices<float>(e, offsets, out)
                                      : rows_.template fast_vertices<double>(e, offsets, out);
    }
  }

  std::optional<Problem> read_faces(const PlyElement& e, bool strips) {
    if (e.count == 0) return std::nullopt;
    const int list = e.find({"vertex_indices", "vertex_index"});
    const PlyProperty& corners = e.properties[static_cast<std::size_t>(list)];
    if (!strips)
      sink_.faces.expect_triangles(
          static_cast<std::size_t>(std::min(e.count, rows_.most_triangles(corners))));
    const bool plain = e.properties.size() == 1 && bytes_of(*corners.count) == 1 &&
                       (corners.type == PlyType::int32 || corners.type == PlyType::uint32);
    for (std::uint64_t row = 0; row < e.count && !sink_.faces.full();) {
      if constexpr (!std::is_same_v<Rows, TextRows>)
        if (plain && !strips) row += rows_.fast_triangles(e.count - row, sink_);
      if (row == e.count) break;
      if (auto problem = rows_.next_row(e, row)) return problem;
      for (int i = 0; i < static_cast<int>(e.properties.size()); ++i)
        if (auto problem = i == list ? read_corners(corners, strips)
                                     : rows_.skip(e.properties[static_cast<std::size_t>(i)]))
          return problem;
      if (auto problem = rows_.end_row()) return problem;
      if (!strips) sink_.faces.face(sink_.corners);
      ++row;
    }
    return std::nullopt;
  }

  std::optional<Problem> read_corners(const PlyProperty& list, bool strips) {
    std::uint64_t n = 0;
    if (auto problem = rows_.list_length(list, n)) return problem;
    sink_.corners.clear();
    for (; n > 0; --n) {
      double value = 0;
      if (auto problem = rows_.value(list.type, value)) return problem;
      if (auto problem = strips ? sink_.strip_index(value, rows_) : sink_.index(value, rows_)) return problem;
    }
    return std::nullopt;
  }

  std::optional<Problem> skip_rows(const PlyElement& e) {
    for (std::uint64_t row = 0; row < e.count; ++row) {
      if (auto problem = rows_.next_row(e, row)) return problem;
      for (const PlyProperty& p : e.properties)
        if (auto problem = rows_.skip(p)) return problem;
      if (auto problem = rows_.end_row()) return problem;
    }
    return std::nullopt;
  }

  Rows& rows_;
  const PlyHeader& header_;
  const Job& job_;
  PlySink& sink_;
};

Problem wrong_header(const Job& job, std::string_view what) {
  return fail(Code::file_malformed, fmt::format("{}: {}", job.label, what),
              "export the mesh again, or as STL");
}

/// Everything the bodies rely on: one vertex element with x, y, z; faces with one index list.
Expected<std::uint64_t> check(const PlyHeader& header, const Job& job) {
  const PlyElement* vertex = nullptr;
  std::uint64_t faces = 0;
  for (const PlyElement& e : header.elements) {
    if (is_word(e.name, "vertex")) {
      if (vertex != nullptr) return wrong_header(job, "the header has two “vertex” elements");
      vertex = &e;
      for (const std::string_view axis : {"x", "y", "z"}) {
        const int i = e.find({axis});
        if (i < 0 || e.properties[static_cast<std::size_t>(i)].count)
          return wrong_header(job, fmt::format("the header gives the vertices no number “{}”", axis));
      }
    } else if (is_word(e.name, "face") || is_word(e.name, "tristrips")) {
      const int i = e.find({"vertex_indices", "vertex_index"});
      if (e.count > 0 && (i < 0 || !e.properties[static_cast<std::size_t>(i)].count))
        return wrong_header(job,
                            fmt::format("the header gives “{}” no list “vertex_indices”", excerpt(e.name)));
      faces |= e.count;
    }
  }
  if (faces == 0) return no_triangles(job, vertex != nullptr ? "it has points but no faces" : "it is empty");
  if (vertex == nullptr) return wrong_header(job, "the header has no “vertex” element");
  if (vertex->count > most_vertices) return too_many_triangles(job);
  return vertex->count;
}

template <class Rows>
Expected<MeshFile> read_body(Rows& rows, const PlyHeader& header, const Job& job, std::uint64_t vertices) {
  PlySink sink(job, vertices);
  if (auto problem = PlyBody<Rows>(rows, header, job, sink).read()) return *problem;
  MeshFile result = job.start(MeshFormat::ply);
  if (const std::uint64_t left = rows.bytes_left(); left > 0)
    note(result.notes, "trailing-bytes", fmt::format("{} bytes after the last element were ignored", left),
         true);
  return std::move(sink.faces).finish(std::move(result), job.scale());
}

}  // namespace

Expected<MeshFile> read_ply(ByteWindow& bytes, const Job& job) {
  const auto header = read_ply_header(bytes, job);
  if (!header) return header.error();
  const auto vertices = check(*header, job);
  if (!vertices) return vertices.error();
  if (header->encoding == PlyHeader::Encoding::little) {
    BinaryRows<std::endian::little> rows(bytes, job);
    return read_body(rows, *header, job, *vertices);
  }
  if (header->encoding == PlyHeader::Encoding::big) {
    BinaryRows<std::endian::big> rows(bytes, job);
    return read_body(rows, *header, job, *vertices);
  }
  TextRows rows(bytes, job, header->lines);
  auto result = read_body(rows, *header, job, *vertices);
  if (result && rows.rows_with_more() > 0)
    note(result->notes, "extra-values",
         fmt::format("{} rows hold more values than the header says; the rest of each was ignored",
                     rows.rows_with_more()),
         true);
  return result;
}

}  // namespace pourwright::intake
