// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/intake/more_formats.hpp"

#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

IntakeOptions with_more() {
  IntakeOptions options;
  options.more_formats = true;
  return options;
}

std::string base64(const std::string& bytes) {
  constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k)
      group = group << 8 | (i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k)
      out += i + k <= bytes.size() ? letters[group >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

std::string gltf_buffer(const TriangleSoup& s) {
  std::string out;
  for (const Vec3& v : s.vertices)
    for (int axis = 0; axis < 3; ++axis) put(out, static_cast<float>(v[axis]));
  for (const Triangle& t : s.triangles)
    for (const Index v : t) put(out, v);
  return out;
}
/// `nodes` are the nodes of the scene, node 0 its root; `uri` is "" for the binary kind.
std::string gltf_text(const TriangleSoup& s, const std::string& nodes, const std::string& uri) {
  const std::size_t points = 12 * s.vertices.size(), corners = 12 * s.triangles.size();
  Box box;
  for (const Vec3& v : s.vertices) box.add(v);
  return "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[0]}],\"nodes\":[" + nodes +
         "],\"meshes\":[{\"primitives\":[{\"attributes\":{\"POSITION\":0},\"indices\":1,\"mode\":4}]}]," +
         text(
             "\"accessors\":[{\"bufferView\":0,\"componentType\":5126,\"count\":%zu,\"type\":\"VEC3\","
             "\"min\":[%g,%g,%g],\"max\":[%g,%g,%g]},",
             s.vertices.size(), box.low.x(), box.low.y(), box.low.z(), box.high.x(), box.high.y(),
             box.high.z()) +
         text("{\"bufferView\":1,\"componentType\":5125,\"count\":%zu,\"type\":\"SCALAR\"}],",
              3 * s.triangles.size()) +
         text(
             "\"bufferViews\":[{\"buffer\":0,\"byteOffset\":0,\"byteLength\":%zu},{\"buffer\":0,"
             "\"byteOffset\":%zu,\"byteLength\":%zu}],",
             points, points, corners) +
         text("\"buffers\":[{\"byteLength\":%zu", points + corners) +
         (uri.empty() ? "" : ",\"uri\":\"" + uri + "\"") + "}]}";
}
std::string gltf(const TriangleSoup& s, const std::string& nodes = "{\"mesh\":0}") {
  return gltf_text(s, nodes, "data:application/octet-stream;base64," + base64(gltf_buffer(s)));
}
std::string glb(const TriangleSoup& s, const std::string& nodes = "{\"mesh\":0}", bool padded = true) {
  std::string json = gltf_text(s, nodes, "");
  while (padded ? json.size() % 4 != 0 : json.size() % 4 != 1) json += ' ';
  const std::string buffer = gltf_buffer(s);
  std::string out = "glTF";
  put(out, std::uint32_t{2});
  put(out, static_cast<std::uint32_t>(28 + json.size() + buffer.size()));
  put(out, static_cast<std::uint32_t>(json.size()));
  out += "JSON" + json;
  put(out, static_cast<std::uint32_t>(buffer.size()));
  return out + std::string("BIN\0", 4) + buffer;
}

std::string amf(const TriangleSoup& s, const std::string& unit) {
  std::string out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<amf" + unit +
                    " version=\"1.1\"><object id=\"0\"><mesh><vertices>";
  for (const Vec3& v : s.vertices)
    out += text("<vertex><coordinates><x>%.9g</x><y>%.9g</y><z>%.9g</z></coordinates></vertex>", v[0], v[1],
                v[2]);
  out += "</vertices><volume>";
  for (const Triangle& t : s.triangles)
    out += text("<triangle><v1>%u</v1><v2>%u</v2><v3>%u</v3></triangle>", t[0], t[1], t[2]);
  return out + "</volume></mesh></object></amf>\n";
}

std::string x3d(const TriangleSoup& s, const std::string& head) {
  std::string points, corners;
  for (const Vec3& v : s.vertices) points += text("%.9g %.9g %.9g ", v[0], v[1], v[2]);
  for (const Triangle& t : s.triangles) corners += text("%u %u %u -1 ", t[0], t[1], t[2]);
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!DOCTYPE X3D PUBLIC \"ISO//Web3D//DTD X3D 3.3//EN\" "
         "\"http://www.web3d.org/x3d-3.3.dtd\">\n"
         "<X3D profile=\"Interchange\" version=\"3.3\"><head>" +
         head + "</head><Scene><Transform translation=\"1 2 3\"><Shape><IndexedFaceSet coordIndex=\"" +
         corners + "\"><Coordinate point=\"" + points +
         "\"/></IndexedFaceSet></Shape></Transform></Scene></X3D>\n";
}

std::string collada(const TriangleSoup& s, const std::string& asset) {
  std::string points, corners;
  for (const Vec3& v : s.vertices) points += text("%.9g %.9g %.9g ", v[0], v[1], v[2]);
  for (const Triangle& t : s.triangles) corners += text("%u %u %u ", t[0], t[1], t[2]);
  return "<?xml version=\"1.0\"?>\n<COLLADA xmlns=\"http://www.collada.org/2005/11/COLLADASchema\" "
         "version=\"1.4.1\"><asset>" +
         asset + "</asset><library_geometries><geometry id=\"g\"><mesh><source id=\"p\">" +
         text("<float_array id=\"pa\" count=\"%zu\">", 3 * s.vertices.size()) + points +
         text("</float_array><technique_common><accessor source=\"#pa\" count=\"%zu\" stride=\"3\">",
              s.vertices.size()) +
         "<param name=\"X\" type=\"float\"/><param name=\"Y\" type=\"float\"/><param name=\"Z\" "
         "type=\"float\"/></accessor></technique_common></source>"
         "<vertices id=\"v\"><input semantic=\"POSITION\" source=\"#p\"/></vertices>" +
         text("<triangles count=\"%zu\">", s.triangles.size()) +
         "<input semantic=\"VERTEX\" source=\"#v\" offset=\"0\"/><p>" + corners +
         "</p></triangles></mesh></geometry></library_geometries>"
         "<library_visual_scenes><visual_scene id=\"s\"><node id=\"n\"><translate>1 2 "
         "3</translate><instance_geometry url=\"#g\"/></node></visual_scene>"
         "</library_visual_scenes><scene><instance_visual_scene url=\"#s\"/></scene></COLLADA>\n";
}

void check_moved(const MeshFile& file, double millimetres) {
  CHECK(file.soup.triangles.size() == 12);
  CHECK(file.soup.vertices.size() == 8);
  CHECK(volume(file.soup) == doctest::Approx(1680 * millimetres * millimetres * millimetres).epsilon(1e-6));
  Box box;
  for (const Vec3& v : file.soup.vertices) box.add(v);
  CHECK((box.low - Vec3(1, 2, 3) * millimetres).norm() < 1e-5 * millimetres);
  check_promises(file.soup);
}

}  // namespace

TEST_CASE("glTF: metres, node transforms, both kinds of file") {
  if (!intake::assimp_built()) return;
  for (const std::string& bytes : {gltf(cube()), glb(cube()), glb(cube(), "{\"mesh\":0}", false)}) {
    const MeshFile file = read_well(bytes, "x", with_more());
    CHECK(file.format == (bytes.starts_with("glTF") ? MeshFormat::glb : MeshFormat::gltf));
    CHECK(file.unit == LengthUnit::m);
    CHECK(file.unit_from == UnitFrom::file);
    CHECK(volume(file.soup) == doctest::Approx(1680e9));
    CHECK(has_note(file, "y-up"));
  }
  IntakeOptions options = with_more();
  options.unit = LengthUnit::mm;
  const std::string nodes =
      "{\"children\":[1],\"translation\":[1,2,3]},{\"mesh\":0,\"children\":[2]},{\"mesh\":0,\"scale\":[-2,2,"
      "2],\"translation\":[50,0,0]}";
  const MeshFile file = read_well(glb(cube(), nodes), "x.glb", options);
  CHECK(file.unit_from == UnitFrom::option);
  CHECK(file.soup.triangles.size() == 24);
  CHECK(volume(file.soup) == doctest::Approx(1680 * 9));  // the mirrored copy is not inside out
}

TEST_CASE("AMF: its unit attribute") {
  if (!intake::assimp_built()) return;
  for (const auto& [unit, is, millimetres] : std::vector<std::tuple<std::string, LengthUnit, double>>{
           {"", LengthUnit::mm, 1},
           {" unit=\"millimeter\"", LengthUnit::mm, 1},
           {" unit=\"inch\"", LengthUnit::in, 25.4},
           {" unit=\"feet\"", LengthUnit::ft, 304.8},
           {" unit=\"meter\"", LengthUnit::m, 1000},
           {" unit=\"micron\"", LengthUnit::mm, 0.001}}) {
    const MeshFile file = read_well(amf(cube(), unit), "x.amf", with_more());
    CHECK(file.unit == is);
    CHECK(volume(file.soup) == doctest::Approx(1680 * millimetres * millimetres * millimetres).epsilon(1e-9));
    CHECK(has_note(file, "unit-other") == (millimetres == 0.001));
  }
  CHECK(refused(amf(cube(), " unit=\"cubit\""), "x.amf", with_more()).code == Code::file_malformed);
}

TEST_CASE("X3D and COLLADA: their units, their transforms, the file's own frame") {
  if (!intake::assimp_built()) return;
  check_moved(read_well(x3d(cube(), ""), "x.x3d", with_more()), 1000);
  const MeshFile inches = read_well(
      x3d(cube(), "<unit category='length' name='inch' conversionFactor='0.0254'/>"), "x.x3d", with_more());
  CHECK(inches.unit == LengthUnit::in);
  check_moved(inches, 25.4);
  for (const char* up : {"X_UP", "Y_UP", "Z_UP"}) {
    const MeshFile file =
        read_well(collada(cube(), std::string("<unit name=\"centimeter\" meter=\"0.01\"/><up_axis>") + up +
                                      "</up_axis>"),
                  "x.dae", with_more());
    CHECK(file.unit == LengthUnit::cm);
    check_moved(file, 10);
    CHECK(has_note(file, "y-up") == (up[0] != 'Z'));
  }
  check_moved(read_well(collada(cube(), ""), "x.dae", with_more()), 1000);
  const MeshFile odd = read_well(collada(cube(), "<unit meter=\"0.002\"/>"), "x.dae", with_more());
  CHECK(has_note(odd, "unit-other"));
  check_moved(odd, 2);
  IntakeOptions options = with_more();
  options.unit = LengthUnit::mm;
  check_moved(read_well(collada(cube(), "<unit meter=\"0.01\"/>"), "x.dae", options), 1);
}

TEST_CASE("further formats: what cannot be read is a problem, not a crash") {
  if (!intake::assimp_built()) return;
  const std::string cycle = gltf(cube(), "{\"mesh\":0,\"children\":[1]},{\"children\":[0]}");
  CHECK(refused(cycle, "x.gltf", with_more()).code == Code::reader_failed);
  CHECK(refused(gltf(cube(), "{\"mesh\":0,\"children\":[0]}"), "x.gltf", with_more()).code ==
        Code::reader_failed);
  // A buffer in another file is not opened, whatever it is called.
  for (const char* uri : {"/etc/hostname", "buffer.bin", "../buffer.bin", "mesh.gltf"})
    CHECK_FALSE(read(gltf_text(cube(), "{\"mesh\":0}", uri), "x.gltf", with_more()));
  CHECK(refused("{\"asset\":{\"version\":\"2.0\"}}", "x.gltf", with_more()).code != Code::internal);
  std::string bad_index = glb(cube()), number;
  put(number, std::uint32_t{99});
  bad_index.replace(bad_index.size() - 4, 4, number);
  CHECK(refused(bad_index, "x.glb", with_more()).code == Code::index_out_of_range);
  IntakeOptions options = with_more();
  options.max_triangles = 11;
  CHECK(refused(glb(cube()), "x.glb", options).code == Code::too_large);
}

TEST_CASE("further formats: cut and changed files") {
  if (!intake::assimp_built()) return;
  std::mt19937 random(12);
  const std::vector<std::pair<std::string, std::string>> samples{{"x.glb", glb(cube())},
                                                                 {"x.gltf", gltf(cube())},
                                                                 {"x.amf", amf(cube(), "")},
                                                                 {"x.x3d", x3d(cube(), "")},
                                                                 {"x.dae", collada(cube(), "")}};
  for (const auto& [name, bytes] : samples)
    for (int i = 0; i < 25; ++i) {
      std::string damaged = bytes;
      if (i % 2 == 0)
        damaged.resize(random() % bytes.size());
      else
        damaged[random() % bytes.size()] = static_cast<char>(random() % 256);
      CAPTURE(name);
      CAPTURE(i);
      const auto result = read(damaged, name, with_more());
      if (result)
        check_promises(result->soup);
      else
        CHECK_FALSE(result.error().text.empty());
    }
}
