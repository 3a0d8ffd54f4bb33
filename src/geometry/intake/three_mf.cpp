// SPDX-License-Identifier: GPL-3.0-or-later
// 3MF core specification 1.3 (3MF Consortium), with the part references of its production extension: what the
// build list names, each object placed by its transforms. Colours, textures, slices and lattices are not
// read.
#include "geometry/intake/archive.hpp"
#include "geometry/intake/numbers.hpp"
#include "geometry/intake/readers.hpp"
#include "geometry/intake/text_reader.hpp"
#include "geometry/intake/xml_reader.hpp"

#include <cmath>
#include <map>

#include <fmt/format.h>
#include <pugixml.hpp>

namespace pourwright::intake {
namespace {

using Transform = Eigen::Matrix<double, 3, 4>;
using ObjectKey = std::pair<std::string, std::uint32_t>;  // part, id

constexpr std::size_t most_parts = 10'000, most_objects = 1'000'000, deepest = 64;
constexpr std::uint64_t most_placed = 1'000'000;

struct Placed {
  ObjectKey object;
  Transform transform;
};

struct Object {
  bool model = true;  ///< not a support or anything else beside the model
  bool lattice = false;
  std::vector<Vec3> vertices;
  std::vector<Triangle> triangles;
  std::vector<Placed> components;
  // what it comes to with all its components; `visiting` finds cycles
  bool counted = false, visiting = false;
  std::uint64_t total_triangles = 0, total_vertices = 0, total_placed = 0;
};

struct FileUnit {
  double millimetres = 1;
  LengthUnit unit = LengthUnit::mm;
  bool micron = false;
  bool operator==(const FileUnit&) const = default;
};

Transform identity() {
  return Transform::Identity();
}

/// Row vectors in the file, v' = v·M: twelve numbers, the translation last.
bool parse_transform(std::string_view text, Transform& out) {
  const char* p = text.data();  // a quote follows the value, so no number runs past it
  for (int row = 0; row < 4; ++row)
    for (int column = 0; column < 3; ++column) {
      while (*p == ' ' || *p == '\t' || *p == '\n' || *p == '\r') ++p;
      if (parse_double(p, out(column, row)) != Parsed::ok) return false;
    }
  while (*p == ' ' || *p == '\t' || *p == '\n' || *p == '\r') ++p;
  return p == text.data() + text.size();
}

Transform compose(const Transform& outer, const Transform& inner) {
  Transform out;
  out.leftCols<3>() = outer.leftCols<3>() * inner.leftCols<3>();
  out.col(3) = outer.leftCols<3>() * inner.col(3) + outer.col(3);
  return out;
}

bool parse_index(std::string_view text, std::uint32_t& out) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  return error == std::errc{} && end == text.data() + text.size() && !text.empty();
}

class ThreeMf {
 public:
  ThreeMf(Archive archive, const Job& job) : archive_(std::move(archive)), job_(job) {}
  Expected<MeshFile> read();

 private:
  struct Part {
    std::string name;
    bool root = false;
    ObjectKey current;  ///< object being read
    Object* object = nullptr;
  };

  Expected<std::string> root_part();
  std::optional<Problem> read_part(const std::string& name, bool root);
  std::optional<Problem> read_all_parts();
  std::optional<Problem> start_element(const XmlReader& xml, Part& part);
  std::optional<Problem> start_model(const XmlReader& xml, const Part& part);
  std::optional<Problem> start_object(const XmlReader& xml, Part& part);
  std::optional<Problem> read_vertex(const XmlReader& xml, Part& part);
  std::optional<Problem> read_triangle(const XmlReader& xml, Part& part);
  std::optional<Problem> read_placed(const XmlReader& xml, Part& part, std::vector<Placed>& into);
  std::optional<Problem> check_object(const Part& part);
  std::optional<Problem> count(const Placed& placed, std::size_t depth);
  void place(Object& object, const Transform& at, FaceCollector& faces, bool last);
  bool too_many(std::uint64_t triangles, std::uint64_t vertices, std::uint64_t placed) const {
    const std::size_t most = std::min(job_.max_triangles, most_triangles);
    return triangles > most || vertices > std::min(most_vertices, 3 * most) || placed > most_placed;
  }
  Problem malformed(const Part& part, std::string_view what) const;

  Archive archive_;
  const Job& job_;
  std::map<ObjectKey, Object> objects_;
  std::vector<Placed> build_;
  std::vector<std::string> parts_to_read_;
  std::uint64_t placed_read_ = 0;
  FileUnit unit_;
  std::uint64_t triangles_read_ = 0;
};

Problem ThreeMf::malformed(const Part& part, std::string_view what) const {
  return fail(Code::file_malformed, fmt::format("{}, part “{}”: {}", job_.label, printable(part.name), what),
              "export the model again, or as binary STL");
}

/// By the package's relationships, else where everybody puts it.
Expected<std::string> ThreeMf::root_part() {
  if (const auto entry = archive_.find("_rels/.rels")) {
    const auto text = archive_.read_small(*entry, std::size_t{1} << 20);
    if (!text) return text.error();
    pugi::xml_document document;
    if (document.load_buffer(text->data(), text->size()))
      for (const pugi::xml_node relationship : document.document_element().children()) {
        const std::string_view type = relationship.attribute("Type").value();
        std::string target = relationship.attribute("Target").value();
        target.erase(0, std::min(target.find_first_not_of('/'), target.size()));
        if (type.ends_with("/3dmodel") && archive_.find(target)) return target;
      }
  }
  if (archive_.find("3D/3dmodel.model")) return std::string("3D/3dmodel.model");
  return fail(Code::file_malformed, fmt::format("{} is a zip archive without a 3D model in it", job_.label),
              "if it is a packed mesh, unpack it first; otherwise export the model again");
}

std::optional<Problem> ThreeMf::start_model(const XmlReader& xml, const Part& part) {
  FileUnit unit;
  std::string_view word = "millimeter";
  xml.attributes([&](std::string_view name, std::string_view value) {
    if (name == "unit") word = value;
  });
  if (word == "micron")
    unit = {0.001, LengthUnit::mm, true};
  else if (word == "millimeter")
    unit = {1, LengthUnit::mm, false};
  else if (word == "centimeter")
    unit = {10, LengthUnit::cm, false};
  else if (word == "meter")
    unit = {1000, LengthUnit::m, false};
  else if (word == "inch")
    unit = {25.4, LengthUnit::in, false};
  else if (word == "foot")
    unit = {304.8, LengthUnit::ft, false};
  else
    return malformed(part, fmt::format("unknown unit “{}”", excerpt(word)));
  if (part.root)
    unit_ = unit;
  else if (!(unit == unit_))
    return malformed(part, "its unit differs from the main part's");
  return std::nullopt;
}

std::optional<Problem> ThreeMf::start_object(const XmlReader& xml, Part& part) {
  std::uint32_t id = 0;
  bool has_id = false, model = true;
  const bool whole = xml.attributes([&](std::string_view name, std::string_view value) {
    if (name == "id") has_id = parse_index(value, id);
    if (name == "type") model = value == "model" || value == "surface";
  });
  if (!whole || !has_id) return malformed(part, "an object has no proper id");
  if (objects_.size() >= most_objects) return malformed(part, "more than a million objects");
  part.current = {part.name, id};
  const auto [it, fresh] = objects_.try_emplace(part.current);
  if (!fresh) return malformed(part, fmt::format("two objects have the id {}", id));
  part.object = &it->second;
  part.object->model = model;
  return std::nullopt;
}

std::optional<Problem> ThreeMf::read_vertex(const XmlReader& xml, Part& part) {
  std::array<double, 3> p{};
  std::array<Parsed, 3> parsed{Parsed::missing, Parsed::missing, Parsed::missing};
  const bool whole = xml.attributes([&](std::string_view name, std::string_view value) {
    const char axis = name.size() == 1 ? name[0] : '\0';
    if (axis < 'x' || axis > 'z') return;
    const auto k = static_cast<std::size_t>(axis - 'x');
    const char* at = value.data();
    while (*at == ' ') ++at;
    parsed[k] = parse_double(at, p[k]);
    while (*at == ' ') ++at;
    if (parsed[k] == Parsed::ok && at != value.data() + value.size()) parsed[k] = Parsed::missing;
  });
  const auto place = [&] {
    return fmt::format("object {}, vertex {}", part.current.second, part.object->vertices.size());
  };
  for (const Parsed each : parsed) {
    if (each == Parsed::not_finite) return not_finite(job_, place());
    if (!whole || each != Parsed::ok)
      return malformed(part,
                       fmt::format("{}: x, y and z are not three numbers with decimal points", place()));
  }
  if (part.object->vertices.size() >= most_vertices) return too_many_triangles(job_);
  part.object->vertices.emplace_back(p[0], p[1], p[2]);
  return std::nullopt;
}

std::optional<Problem> ThreeMf::read_triangle(const XmlReader& xml, Part& part) {
  Triangle t{none, none, none};
  const bool whole = xml.attributes([&](std::string_view name, std::string_view value) {
    if (name.size() == 2 && name[0] == 'v' && name[1] >= '1' && name[1] <= '3')
      if (!parse_index(value, t[static_cast<std::size_t>(name[1] - '1')])) t[0] = none;
  });
  if (!whole || t[0] == none || t[1] == none || t[2] == none)
    return malformed(part, fmt::format("object {}, triangle {}: v1, v2 and v3 are not three whole numbers",
                                       part.current.second, part.object->triangles.size()));
  if (++triangles_read_ > std::min(job_.max_triangles, most_triangles)) return too_many_triangles(job_);
  part.object->triangles.push_back(t);
  return std::nullopt;
}

/// A component of an object or an item of the build list.
std::optional<Problem> ThreeMf::read_placed(const XmlReader& xml, Part& part, std::vector<Placed>& into) {
  Placed placed{{part.name, 0}, identity()};
  bool has_id = false, good_transform = true;
  const bool whole = xml.attributes([&](std::string_view name, std::string_view value) {
    if (name == "objectid") has_id = parse_index(value, placed.object.second);
    if (name == "transform") good_transform = parse_transform(value, placed.transform);
    if (name == "path")
      placed.object.first = value.substr(std::min(value.find_first_not_of('/'), value.size()));
  });
  if (!whole || !has_id) return malformed(part, fmt::format("{} without a proper objectid", xml.name()));
  if (!good_transform) return malformed(part, "a transform is not twelve numbers");
  if (++placed_read_ > most_placed) return too_many_triangles(job_);
  if (placed.object.first != part.name && part.root) parts_to_read_.push_back(placed.object.first);
  into.push_back(std::move(placed));
  return std::nullopt;
}

/// Indices may precede vertices, so they are checked when the object is complete.
std::optional<Problem> ThreeMf::check_object(const Part& part) {
  const Object& object = *part.object;
  for (std::size_t i = 0; i < object.triangles.size(); ++i)
    for (const Index v : object.triangles[i])
      if (v >= object.vertices.size())
        return bad_index(job_, fmt::format("object {}, triangle {}", part.current.second, i), v,
                         object.vertices.size());
  return std::nullopt;
}

std::optional<Problem> ThreeMf::start_element(const XmlReader& xml, Part& part) {
  const std::string_view name = xml.name(), parent = xml.above(0);
  if (name == "vertex" && parent == "vertices" && xml.above(1) == "mesh" && part.object != nullptr)
    return read_vertex(xml, part);
  if (name == "triangle" && parent == "triangles" && xml.above(1) == "mesh" && part.object != nullptr)
    return read_triangle(xml, part);
  if (xml.depth() == 1) {
    if (name != "model") return malformed(part, "it is not a 3D model");
    return start_model(xml, part);
  }
  if (name == "object" && parent == "resources") return start_object(xml, part);
  if (name == "beamlattice" && part.object != nullptr) part.object->lattice = true;
  if (name == "component" && parent == "components" && part.object != nullptr)
    return read_placed(xml, part, part.object->components);
  if (name == "item" && parent == "build" && part.root) return read_placed(xml, part, build_);
  return std::nullopt;
}

std::optional<Problem> ThreeMf::read_part(const std::string& name, bool root) {
  Part part;
  part.name = name;
  part.root = root;
  const auto entry = archive_.find(name);
  if (!entry) return malformed(part, "the model refers to it, but it is not in the archive");
  Expected<ByteWindow> window = archive_.read(*entry);
  if (!window) return window.error();
  XmlReader xml(*window);
  bool any = false;
  while (true) {
    std::optional<Problem> problem;
    const XmlReader::Event event = xml.next();
    if (event == XmlReader::Event::start) {
      any = true;
      problem = start_element(xml, part);
    } else if (event == XmlReader::Event::end) {
      if (xml.name() == "object" && xml.depth() == 3 && part.object != nullptr) {
        problem = check_object(part);
        part.object = nullptr;
      }
    } else {
      if (auto trouble = window->trouble()) return trouble;
      if (event == XmlReader::Event::broken)
        return xml.cut_off() ? cut_off(job_, fmt::format("part “{}”: {}", printable(name), xml.why()))
                             : malformed(part, fmt::format("{} near byte {}", xml.why(), window->position()));
      if (!any) return malformed(part, "it is not XML in UTF-8");
      return std::nullopt;
    }
    if (problem) return problem;
  }
}

/// Parts that the main part refers to; those may not refer further (production extension, section 2).
std::optional<Problem> ThreeMf::read_all_parts() {
  const auto root = root_part();
  if (!root) return root.error();
  if (auto problem = read_part(*root, true)) return problem;
  std::sort(parts_to_read_.begin(), parts_to_read_.end());
  parts_to_read_.erase(std::unique(parts_to_read_.begin(), parts_to_read_.end()), parts_to_read_.end());
  if (parts_to_read_.size() > most_parts)
    return fail(Code::too_large, fmt::format("{} has more than {} parts", job_.label, most_parts),
                "split the model");
  for (const std::string& name : parts_to_read_)
    if (auto problem = read_part(name, false)) return problem;
  return std::nullopt;
}

/// Totals before anything is copied: nested components can multiply without end, or contain themselves.
std::optional<Problem> ThreeMf::count(const Placed& placed, std::size_t depth) {
  const auto found = objects_.find(placed.object);
  if (found == objects_.end())
    return fail(Code::file_malformed,
                fmt::format("{}: object {} is used but not in the file", job_.label, placed.object.second),
                "export the model again");
  Object& object = found->second;
  if (object.visiting || depth > deepest)
    return fail(Code::file_malformed,
                object.visiting
                    ? fmt::format("{}: object {} contains itself", job_.label, placed.object.second)
                    : fmt::format("{}: objects are nested more than {} deep", job_.label, deepest),
                "export the model again");
  if (object.counted) return std::nullopt;
  object.visiting = true;
  object.total_triangles = object.triangles.size();
  object.total_vertices = object.vertices.size();
  object.total_placed = 1;
  for (const Placed& component : object.components) {
    if (auto problem = count(component, depth + 1)) return problem;
    const Object& part = objects_.find(component.object)->second;
    object.total_triangles += part.total_triangles;
    object.total_vertices += part.total_vertices;
    object.total_placed += part.total_placed;
    if (too_many(object.total_triangles, object.total_vertices, object.total_placed))
      return too_many_triangles(job_);
  }
  object.visiting = false;
  object.counted = true;
  return std::nullopt;
}

/// `last`: nothing else will need this object, so its memory goes as its copy grows.
void ThreeMf::place(Object& object, const Transform& at, FaceCollector& faces, bool last) {
  const auto base = static_cast<Index>(faces.vertices.size());
  const bool mirrored = at.leftCols<3>().determinant() < 0;
  for (const Vec3& v : object.vertices) faces.vertices.emplace_back(at.leftCols<3>() * v + at.col(3));
  if (last) object.vertices = {};
  // A mirror turns surfaces inside out; the specification keeps the outside outside.
  for (const Triangle& t : object.triangles)
    mirrored ? faces.triangle(base + t[0], base + t[2], base + t[1])
             : faces.triangle(base + t[0], base + t[1], base + t[2]);
  if (last) object.triangles = {};
  for (const Placed& component : object.components)
    place(objects_.find(component.object)->second, compose(at, component.transform), faces, last);
}

Expected<MeshFile> ThreeMf::read() {
  if (auto problem = read_all_parts()) return *problem;
  MeshFile result = job_.start(MeshFormat::three_mf);
  double scale = job_.scale();
  if (!job_.unit) {
    scale = unit_.millimetres;
    result.unit = unit_.unit;
    result.unit_from = UnitFrom::file;
    if (unit_.micron)
      note(result.notes, "unit-micron", "the file is in micrometres; they were read as thousandths of mm");
  }
  std::uint64_t triangles = 0, placed = 0, vertices = 0;
  // Whatever is no model is no material, as an item to build and as a part of another object.
  std::size_t beside = 0;
  const auto is_beside = [&](const Placed& item) {
    const auto found = objects_.find(item.object);
    const bool skip = found != objects_.end() && !found->second.model;
    beside += skip ? 1 : 0;
    return skip;
  };
  std::erase_if(build_, is_beside);
  for (auto& [id, object] : objects_) std::erase_if(object.components, is_beside);
  for (const Placed& item : build_) {
    if (auto problem = count(item, 0)) return *problem;
    const Object& object = objects_.find(item.object)->second;
    triangles += object.total_triangles;
    vertices += object.total_vertices;
    placed += object.total_placed;
    if (too_many(triangles, vertices, placed)) return too_many_triangles(job_);
  }
  if (triangles == 0)
    return no_triangles(job_, build_.empty()
                                  ? beside > 0 ? "it holds only supports" : "its build list is empty"
                                  : "the objects to build have no mesh");
  FaceCollector faces(job_);
  // Once for all: room made item by item would copy what is there each time.
  faces.vertices.reserve(vertices);
  faces.expect_triangles(triangles);
  for (const Placed& item : build_)
    place(objects_.find(item.object)->second, item.transform, faces, placed == 1);
  for (const Vec3& v : faces.vertices)
    if (!v.allFinite()) return not_finite(job_, "after the transforms");
  if (beside > 0)
    note(result.notes, "support-skipped",
         fmt::format("{} that {} supports or auxiliary left out",
                     beside == 1 ? "1 item" : fmt::format("{} items", beside), beside == 1 ? "is" : "are"));
  if (std::any_of(objects_.begin(), objects_.end(), [](const auto& entry) { return entry.second.lattice; }))
    note(result.notes, "lattice-ignored", "beam lattices in the file were not read", true);
  if (placed > build_.size() || build_.size() > 1)
    note(result.notes, "several-objects",
         fmt::format("{} objects in the build list were read as one mesh", build_.size()));
  return std::move(faces).finish(std::move(result), scale);
}

}  // namespace

Expected<MeshFile> read_three_mf(const Package& package, const Job& job) {
  Expected<Archive> archive = Archive::open(package, job);
  if (!archive) return archive.error();
  return ThreeMf(*std::move(archive), job).read();
}

}  // namespace pourwright::intake
