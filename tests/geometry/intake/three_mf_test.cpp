// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

using namespace mesh_bytes;

namespace {

std::string object(int id, const std::string& inside, const std::string& more = " type=\"model\"") {
  return text("<object id=\"%d\"", id) + more + ">" + inside + "</object>";
}
std::string item(int id, const std::string& more = "") {
  return text("<item objectid=\"%d\" ", id) + more + "/>";
}
std::string component(int id, const std::string& more = "") {
  return text("<component objectid=\"%d\" ", id) + more + "/>";
}
std::string components(const std::string& inside) {
  return "<components>" + inside + "</components>";
}
std::string at(const char* numbers) {
  return std::string("transform=\"") + numbers + "\"";
}
const std::string cube_mesh = mf_mesh(cube());

void check(const std::string& bytes, Code code, std::string_view word) {
  const Problem problem = refused(bytes, "x.3mf");
  CHECK_MESSAGE(problem.code == code, problem.text);
  CHECK_MESSAGE(problem.text.find(word) != std::string::npos, problem.text);
}

}  // namespace

TEST_CASE("3MF: one object, one item") {
  const MeshFile file = read_well(three_mf(cube()), "cube.3mf");
  CHECK(file.format == MeshFormat::three_mf);
  CHECK(file.unit == LengthUnit::mm);
  CHECK(file.unit_from == UnitFrom::file);
  CHECK(file.soup.vertices == cube().vertices);
  CHECK(file.soup.triangles == cube().triangles);
  CHECK(file.notes.empty());
}

TEST_CASE("3MF: the unit of the file") {
  struct Row {
    std::string unit;
    LengthUnit is;
    double millimetres;
  };
  for (const Row& row :
       {Row{"", LengthUnit::mm, 1}, Row{" unit=\"millimeter\"", LengthUnit::mm, 1},
        Row{" unit='centimeter'", LengthUnit::cm, 10}, Row{" unit=\"meter\"", LengthUnit::m, 1000},
        Row{" unit = \"inch\"", LengthUnit::in, 25.4}, Row{" unit=\"foot\"", LengthUnit::ft, 304.8},
        Row{" unit=\"micron\"", LengthUnit::mm, 0.001}}) {
    const std::string bytes = three_mf(mf_model(object(1, cube_mesh), item(1), row.unit));
    const MeshFile file = read_well(bytes, "cube.3mf");
    CHECK(file.unit == row.is);
    CHECK(file.unit_from == UnitFrom::file);
    CHECK(volume(file.soup) == doctest::Approx(1680 * row.millimetres * row.millimetres * row.millimetres));
    CHECK(has_note(file, "unit-micron") == (row.millimetres == 0.001));
    IntakeOptions options;
    options.unit = LengthUnit::cm;
    const MeshFile forced = read_well(bytes, "cube.3mf", options);
    CHECK(forced.unit == LengthUnit::cm);
    CHECK(forced.unit_from == UnitFrom::option);
    CHECK(volume(forced.soup) == doctest::Approx(1'680'000));
  }
  check(three_mf(mf_model(object(1, cube_mesh), item(1), " unit=\"furlong\"")), Code::file_malformed,
        "furlong");
}

TEST_CASE("3MF: transforms of items and of nested components are applied, inner first") {
  // Row vectors: the first item turns x into y and then moves; the second doubles everything.
  const std::string build =
      item(1, at("0 1 0 -1 0 0 0 0 1 100 0 5")) + item(3, at("2 0 0 0 2 0 0 0 2 0 0 0"));
  const std::string resources =
      object(1, cube_mesh) + object(2, components(component(1, at("1 0 0 0 1 0 0 0 1 10 0 0")))) +
      object(3, components(component(2) + component(2, at("1 0 0 0 1 0 0 0 1 0 50 0"))));
  const MeshFile file = read_well(three_mf(mf_model(resources, build)), "x.3mf");
  CHECK(file.soup.triangles.size() == 36);
  CHECK(volume(file.soup) == doctest::Approx(1680 * (1 + 8 + 8)));
  CHECK(has_note(file, "several-objects"));
  Box first, rest;
  for (std::size_t i = 0; i < file.soup.vertices.size(); ++i)
    (i < 8 ? first : rest).add(file.soup.vertices[i]);
  CHECK(first.low == Vec3(88, 0, 5));
  CHECK(first.high == Vec3(100, 20, 12));
  CHECK(rest.low == Vec3(20, 0, 0));
  CHECK(rest.high == Vec3(60, 124, 14));
}

TEST_CASE("3MF: a mirror keeps the outside outside") {
  const MeshFile file =
      read_well(three_mf(mf_model(object(1, cube_mesh), item(1, at("-1 0 0 0 1 0 0 0 1 0 0 0")))), "x.3mf");
  CHECK(volume(file.soup) == doctest::Approx(1680));
}

TEST_CASE("3MF: supports are not the model") {
  const std::string resources = object(1, cube_mesh) + object(2, cube_mesh, " type=\"support\"") +
                                object(3, cube_mesh, " type=\"other\"") +
                                object(4, cube_mesh, " type=\"solidsupport\"") + object(5, cube_mesh, "");
  const MeshFile file = read_well(three_mf(mf_model(resources, item(1) + item(2) + item(3) + item(4) +
                                                                   item(5, at("1 0 0 0 1 0 0 0 1 0 0 9")))),
                                  "x.3mf");
  CHECK(file.soup.triangles.size() == 24);
  CHECK(has_note(file, "support-skipped"));
  check(three_mf(mf_model(resources, item(2))), Code::no_triangles, "supports");
}

TEST_CASE("3MF: supports that are part of an object are not the model either") {
  const std::string resources =
      object(1, cube_mesh) + object(2, cube_mesh, " type=\"support\"") +
      object(3, components(component(1) + component(2, at("1 0 0 0 1 0 0 0 1 0 0 9"))));
  const MeshFile file = read_well(three_mf(mf_model(resources, item(3))), "x.3mf");
  CHECK(file.soup.triangles.size() == 12);
  CHECK(has_note(file, "support-skipped"));
}

TEST_CASE("3MF: objects that nobody builds are not read into the mesh") {
  CHECK(read_well(three_mf(mf_model(object(1, cube_mesh) + object(2, cube_mesh), item(2))), "x.3mf")
            .soup.triangles.size() == 12);
  check(three_mf(mf_model(object(1, cube_mesh), "")), Code::no_triangles, "build list");
  check(three_mf(mf_model(object(1, "<mesh><vertices/><triangles/></mesh>"), item(1))), Code::no_triangles,
        "no mesh");
}

TEST_CASE("3MF: objects in parts of their own") {
  const std::string part =
      mf_model(object(1, cube_mesh) + object(7, components(component(1, at("1 0 0 0 1 0 0 0 1 1 1 1")))), "");
  const std::string root = mf_model(object(1, components(component(7, "p:path=\"/3D/Objects/a.model\""))),
                                    item(1) + item(1, "p:path=\"/3D/Objects/a.model\""));
  const auto package = [&](const std::string& a) {
    return zip_of({{"_rels/.rels", mf_relations("/3D/main.model")},
                   {"3D/main.model", root},
                   {"3D/Objects/a.model", a}});
  };
  const MeshFile file = read_well(package(part), "x.3mf");
  CHECK(file.soup.triangles.size() == 24);
  CHECK(volume(file.soup) == doctest::Approx(2 * 1680));
  check(package(replaced(part, "millimeter", "inch")), Code::file_malformed, "unit");
  check(zip_of({{"3D/3dmodel.model", root}}), Code::file_malformed, "not in the archive");
}

TEST_CASE("3MF: the model part is found by the relationships, else by its usual name") {
  const std::string model = mf_model(object(1, cube_mesh), item(1));
  for (const auto& entries : std::vector<std::map<std::string, std::string>>{
           {{"3D/3dmodel.model", model}},
           {{"_rels/.rels", mf_relations("strange/place.xml")}, {"strange/place.xml", model}},
           {{"_rels/.rels", mf_relations("/not/there.model")}, {"3D/3dmodel.model", model}},
           {{"_rels/.rels", "<broken"}, {"3D/3dmodel.model", model}},
           {{"_rels/.rels", mf_relations("/3D/3DMODEL.MODEL")}, {"3d/3dmodel.model", model}}})
    CHECK(read_well(zip_of(entries), "x.3mf").soup.triangles.size() == 12);
  check(zip_of({{"readme.txt", "nothing"}}), Code::file_malformed, "without a 3D model");
  check(zip_of({{"part.stl", stl_binary(cube())}}), Code::file_malformed, "without a 3D model");
}

TEST_CASE("3MF: XML as people write it") {
  const std::string model = mf_model(object(1, cube_mesh), item(1));
  const auto good = [](const std::string& m) {
    CHECK(read_well(three_mf(m), "x.3mf").soup.triangles.size() == 12);
  };
  good("\xEF\xBB\xBF" + model);
  good(replaced(model, "/>", "\r\n />"));
  good(replaced(
      model, "<vertices>",
      "<!-- <vertex x=\"1\"/> > -- ><vertices> --><vertices><?pi <vertex/> ?><![CDATA[<vertex/>]]>"));
  good(replaced(replaced(model, "x=\"0\"", "x='0'"), "x=\"20\"", "\n\tx = ' 20 '"));
  good(replaced(model, "z=\"7\"/>", "z=\"7\"> </vertex >"));
  good(replaced(model, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>", ""));
  good("<!DOCTYPE model>" + replaced(model, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>", ""));
  // Prefixes, and vertices and triangles of extensions in other places.
  std::string prefixed = model;
  for (const char* name : {"model", "resources", "object", "mesh", "vertices", "vertex", "triangles",
                           "triangle", "build", "item"})
    for (const char* after : {" ", ">"})
      prefixed =
          replaced(replaced(prefixed, std::string("<") + name + after, std::string("<c:") + name + after),
                   std::string("</") + name + after, std::string("</c:") + name + after);
  good(prefixed);
  good(replaced(model, "</resources>",
                "<s:slicestack><s:slice><s:vertices><s:vertex "
                "x=\"a\"/></s:vertices></s:slice></s:slicestack></resources>"));
  CHECK(
      has_note(read_well(three_mf(replaced(model, "</triangles>", "</triangles><b:beamlattice/>")), "x.3mf"),
               "lattice-ignored"));
}

TEST_CASE("3MF: what is malformed is refused with its place") {
  const std::string model = mf_model(object(1, cube_mesh), item(1));
  const std::string vertex = "<vertex x=\"0\" y=\"0\" z=\"0\"/>";
  REQUIRE(model.find(vertex) != std::string::npos);
  const auto with = [&](const std::string& to) { return three_mf(replaced(model, vertex, to)); };
  check(with("<vertex x=\"nan\" y=\"0\" z=\"0\"/>"), Code::coordinate_not_finite, "vertex 0");
  check(with("<vertex x=\"1e999\" y=\"0\" z=\"0\"/>"), Code::coordinate_not_finite, "object 1");
  check(with("<vertex x=\"0,5\" y=\"0\" z=\"0\"/>"), Code::file_malformed, "vertex 0");
  check(with("<vertex y=\"0\" z=\"0\"/>"), Code::file_malformed, "vertex 0");
  check(with("<vertex x=\"0\" y=\"0\" z=/>"), Code::file_malformed, "");
  check(with("<vertex x=\"0\" y=\"0\" z=\"0\">"), Code::file_malformed, "tag");
  check(with(""), Code::index_out_of_range, "7 vertices");
  const std::string triangle = model.substr(
      model.find("<triangle "), model.find("/>", model.find("<triangle ")) + 2 - model.find("<triangle "));
  check(three_mf(replaced(model, triangle, "<triangle v1=\"0\" v2=\"1\" v3=\"8\"/>")),
        Code::index_out_of_range, "triangle 0");
  check(three_mf(replaced(model, triangle, "<triangle v1=\"0\" v2=\"1\" v3=\"-1\"/>")), Code::file_malformed,
        "triangle 0");
  check(three_mf(replaced(model, triangle, "<triangle v1=\"0\" v2=\"1\"/>")), Code::file_malformed,
        "triangle 0");
  check(three_mf(replaced(model, triangle, "<triangle v1=\"0\" v2=\"1\" v3=\"4294967295\"/>")),
        Code::file_malformed, "triangle 0");
  check(three_mf(mf_model(object(1, cube_mesh) + object(1, cube_mesh), item(1))), Code::file_malformed,
        "two objects");
  check(three_mf(mf_model(object(1, cube_mesh), item(2))), Code::file_malformed, "object 2");
  check(three_mf(mf_model(object(1, cube_mesh), item(1, at("1 0 0 0 1 0 0 0 1 0 0")))), Code::file_malformed,
        "twelve");
  check(three_mf(mf_model(object(1, cube_mesh), item(1, at("1 0 0 0 1 0 0 0 1 0 0 0 0")))),
        Code::file_malformed, "twelve");
  check(three_mf(mf_model(object(1, cube_mesh), item(1, at("1e308 0 0 0 1 0 0 0 1 1e308 0 0")))),
        Code::coordinate_not_finite, "transforms");
  check(three_mf("<html></html>"), Code::file_malformed, "not a 3D model");
  check(three_mf("plain text"), Code::file_malformed, "XML");
  check(three_mf("<!DOCTYPE model [<!ENTITY a \"b\">]>" + model), Code::file_malformed, "document type");
  check(three_mf(model.substr(0, model.size() / 2)), Code::file_truncated, "");
  check(three_mf(
            replaced(model, "<resources>", std::string("<a ") + std::string(400'000, 'x') + "><resources>")),
        Code::file_malformed, "tag");
  std::string deep = model;
  for (int i = 0; i < 300; ++i) deep.insert(deep.find("<resources>"), "<a>");
  check(three_mf(deep), Code::file_malformed, "deeply");
}

TEST_CASE("3MF: cycles and avalanches of components are refused") {
  check(three_mf(mf_model(object(1, components(component(1))), item(1))), Code::file_malformed,
        "contains itself");
  check(
      three_mf(mf_model(object(1, components(component(2))) + object(2, components(component(1))), item(1))),
      Code::file_malformed, "contains itself");
  // Each object holds the one before twice: 2^40 cubes, or 2^40 times nothing.
  for (const std::string& inside :
       {cube_mesh, std::string("<mesh><vertices/><triangles/></mesh>"),
        std::string("<mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/></vertices><triangles/></mesh>")}) {
    std::string resources = object(1, inside);
    for (int id = 2; id <= 41; ++id)
      resources += object(id, components(component(id - 1) + component(id - 1)));
    check(three_mf(mf_model(resources, item(41))), Code::too_large, "");
  }
  std::string chain = object(1, cube_mesh);
  for (int id = 2; id <= 200; ++id) chain += object(id, components(component(id - 1)));
  check(three_mf(mf_model(chain, item(200))), Code::file_malformed, "deep");
  IntakeOptions options;
  options.max_triangles = 23;
  CHECK(refused(three_mf(mf_model(object(1, cube_mesh), item(1) + item(1))), "x.3mf", options).code ==
        Code::too_large);
  options.max_triangles = 11;
  CHECK(refused(three_mf(cube()), "x.3mf", options).code == Code::too_large);
}

TEST_CASE("3MF: an archive that unpacks to far too much is given up") {
  std::string model = mf_model(object(1, cube_mesh), item(1));
  model.insert(model.find("<resources>"), std::string(8'000'000, ' '));
  const std::string bytes = three_mf(model);
  REQUIRE(bytes.size() < 20'000);
  CHECK(read_well(bytes, "x.3mf").soup.triangles.size() == 12);
  IntakeOptions options;
  options.max_bytes = 1'000'000;
  const Problem problem = refused(bytes, "x.3mf", options);
  CHECK(problem.code == Code::too_large);
  CHECK(problem.text.find("unpacks") != std::string::npos);
}

TEST_CASE("3MF: damaged archives") {
  const std::string good = three_mf(cube());
  check("PK\x03\x04", Code::file_malformed, "zip");
  check(good.substr(0, good.size() - 1), Code::file_malformed, "zip");
  std::string flipped = good;
  flipped[good.find("3D/3dmodel.model") + 200] ^= 0x55;
  CHECK_FALSE(read(flipped, "x.3mf"));
}

TEST_CASE("3MF: a small file that places one object many thousand times") {
  std::string items;
  for (int i = 0; i < 50'000; ++i) items += item(1);
  const MeshFile file = read_well(three_mf(mf_model(object(1, cube_mesh), items)), "cube.3mf");
  CHECK(file.soup.triangles.size() == 50'000 * cube().triangles.size());
}
