// SPDX-License-Identifier: GPL-3.0-or-later
#include "mesh_bytes.hpp"

#include <filesystem>
#include <fstream>

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

using namespace mesh_bytes;
namespace fs = std::filesystem;

namespace {

/// A folder of its own, removed at the end.
class Folder {
 public:
  Folder() {
    std::string pattern = (fs::temp_directory_path() / "pourwright-intake-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  fs::path operator/(const std::string& name) const { return path_ / name; }
  fs::path put(const std::string& name, const std::string& bytes) const {
    std::ofstream(path_ / name, std::ios::binary) << bytes;
    return path_ / name;
  }

 private:
  fs::path path_;
};

Code code_of(const fs::path& path, const IntakeOptions& options = {}) {
  const auto result = read_mesh_file(path, options);
  if (result) FAIL(path << " was read");
  CHECK_FALSE(result.error().hint.empty());
  return result.error().code;
}

}  // namespace

TEST_CASE("files of every format are read from disk") {
  const Folder folder;
  for (const auto& [name, bytes] :
       std::map<std::string, std::string>{{"a.stl", stl_binary(cube())},
                                          {"b.stl", stl_ascii(cube())},
                                          {"c.obj", obj(cube())},
                                          {"d.ply", ply_ascii(cube())},
                                          {"e.ply", ply_binary<float>(cube(), true)},
                                          {"f.off", off(cube())},
                                          {"g.3mf", three_mf(cube())}}) {
    const auto file = read_mesh_file(folder.put(name, bytes));
    REQUIRE_MESSAGE(file, file.error().text);
    CHECK(triangle_set(file->soup) == triangle_set(cube()));
    CHECK(file->notes.empty());
  }
}

TEST_CASE("any byte string is a name") {
  const Folder folder;
  for (const std::string name :
       {"имя с пробелами.stl", "a\nb.stl", "\xFF\xFE\x80.stl", "-.stl", "100%s%n.stl"}) {
    const auto file = read_mesh_file(folder.put(name, stl_binary(cube())));
    REQUIRE_MESSAGE(file, file.error().text);
    const auto broken = read_mesh_file(folder.put(name, stl_binary(cube()).substr(0, 99)));
    REQUIRE_FALSE(broken);
    CHECK(broken.error().text.find('\n') == std::string::npos);
    CHECK(broken.error().text.find('\xFF') == std::string::npos);
  }
}

TEST_CASE("only regular files are read, and nothing waits") {
  const Folder folder;
  CHECK(code_of(folder / "absent.stl") == Code::file_missing);
  CHECK(code_of(folder / "") == Code::file_unreadable);
  CHECK(code_of(folder.put("plain", "x") / "below.stl") == Code::file_missing);
  REQUIRE(mkfifo((folder / "pipe.stl").c_str(), 0600) == 0);
  CHECK(code_of(folder / "pipe.stl") == Code::file_unreadable);
  CHECK(code_of("/dev/zero") == Code::file_unreadable);
  CHECK(code_of("") == Code::file_missing);
  const int s = socket(AF_UNIX, SOCK_STREAM, 0);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string socket_path = (folder / "s.stl").string();
  REQUIRE(socket_path.size() < sizeof address.sun_path);
  std::copy(socket_path.begin(), socket_path.end(), address.sun_path);
  REQUIRE(bind(s, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  CHECK(code_of(folder / "s.stl") == Code::file_unreadable);
  close(s);
  fs::create_symlink("loop.stl", folder / "loop.stl");
  CHECK(code_of(folder / "loop.stl") == Code::file_unreadable);
}

TEST_CASE("empty files and the limit on bytes") {
  const Folder folder;
  CHECK(code_of(folder.put("empty.stl", "")) == Code::file_empty);
  CHECK(refused("", "empty.3mf").code == Code::file_empty);
  IntakeOptions options;
  options.max_bytes = stl_binary(cube()).size() - 1;
  CHECK(code_of(folder.put("big.stl", stl_binary(cube())), options) == Code::too_large);
  options.max_bytes += 1;
  CHECK(read_mesh_file(folder / "big.stl", options));
  // Petabytes of hole: refused by the size alone.
  const fs::path sparse = folder.put("sparse.stl", "x");
  if (truncate(sparse.c_str(), off_t{1} << 40) == 0) CHECK(code_of(sparse) == Code::too_large);
}

TEST_CASE("the content decides the format, the name only where it is silent") {
  const auto format = [](const std::string& bytes, std::string_view name) {
    return read_well(bytes, name).format;
  };
  for (const char* name : {"x", "x.stl", "x.obj", "x.ply", "x.off", "x.3mf", "x.txt", ".stl", "a.b.c"}) {
    CHECK(format(stl_binary(cube()), name) == MeshFormat::stl_binary);
    CHECK(format(stl_ascii(cube()), name) == MeshFormat::stl_ascii);
    CHECK(format(obj(cube()), name) == MeshFormat::obj);
    CHECK(format("# comment\nmtllib a.mtl\no thing\n" + obj(cube()), name) == MeshFormat::obj);
    CHECK(format(ply_ascii(cube()), name) == MeshFormat::ply);
    CHECK(format(ply_binary<double>(cube(), true), name) == MeshFormat::ply);
    CHECK(format(off(cube()), name) == MeshFormat::off);
    CHECK(format(three_mf(cube()), name) == MeshFormat::three_mf);
  }
  CHECK(has_note(read_well(ply_ascii(cube()), "x.stl"), "format-by-content"));
  CHECK_FALSE(has_note(read_well(ply_ascii(cube()), "x.PLY"), "format-by-content"));
  CHECK_FALSE(has_note(read_well(ply_ascii(cube()), "x.data"), "format-by-content"));
}

TEST_CASE("an unknown format names the known ones") {
  std::string noise;
  std::mt19937 random(5);
  for (int i = 0; i < 5000; ++i) noise += static_cast<char>(random() % 256);
  for (const auto& [bytes, name] :
       std::vector<std::pair<std::string, std::string>>{{noise, "x.step"},
                                                        {noise, "x.obj"},
                                                        {noise, "x"},
                                                        {"Hello, this is a letter.\n", "letter.txt"},
                                                        {"<html></html>", "x.html"},
                                                        {"{\"a\": 1}", "x.json"},
                                                        {"ISO-10303-21;\nHEADER;\n", "x.step"},
                                                        {"%PDF-1.4\n", "x.pdf"}}) {
    const Problem problem = refused(bytes, name);
    CHECK_MESSAGE(problem.code == Code::format_unknown, name);
    CHECK(problem.hint.find("STL, OBJ, PLY, OFF or 3MF") != std::string::npos);
  }
  CHECK(refused(std::string("\xFF\xFEv\0 \0001\0", 8), "x.obj").text.find("UTF-16") != std::string::npos);
}

TEST_CASE("further formats are off until asked for") {
  for (const auto& [bytes, name] : std::vector<std::pair<std::string, std::string>>{
           {"glTF\x02" + std::string(40, '\0'), "x.glb"},
           {"{\"asset\": {\"version\": \"2.0\"}}", "x"},
           {"<?xml version=\"1.0\"?>\n<amf unit=\"inch\"></amf>", "x"},
           {"<X3D></X3D>", "x"},
           {"<!-- a --><COLLADA xmlns=\"a\"></COLLADA>", "x.xml"}}) {
    const Problem problem = refused(bytes, name);
    CHECK(problem.code == Code::format_switched_off);
    CHECK(problem.hint.find("--more-formats") != std::string::npos);
  }
}

TEST_CASE("names of mesh files") {
  for (const char* good : {"a.stl", "A.STL", "b/c.Obj", ".hidden.ply", "x.3mf", "x.off", "x.glb", "x.gltf",
                           "x.amf", "x.x3d", "x.dae"})
    CHECK(looks_like_mesh_name(good));
  for (const char* bad : {"a", "stl", "a.stl/b", "a.txt", "a.stl.bak", "", "a.st", "a.mtl"})
    CHECK_FALSE(looks_like_mesh_name(bad));
}

TEST_CASE("every code that intake returns says where to look and what to do") {
  for (const auto& [bytes, name] :
       std::vector<std::pair<std::string, std::string>>{{"v 0 0 0\nf 1 2 3\n", "tray.obj"},
                                                        {stl_binary(cube()).substr(0, 200), "tray.stl"},
                                                        {"OFF\n1\n", "tray.off"},
                                                        {"ply\nformat ascii 1.0\n", "tray.ply"}})
    CHECK(refused(bytes, name).text.find("tray.") != std::string::npos);
}

TEST_CASE("a picture or document under any name is called what it is") {
  using namespace std::string_literals;
  const Folder folder;
  const std::pair<std::string, std::string> contents[] = {
      {"\xFF\xD8\xFF\xE0\0\x10JFIF\0"s + std::string(500, '9'), "a JPEG picture"},
      {"\x89PNG\r\n\x1A\n\0\0\0\rIHDR"s + std::string(200, 'x'), "a PNG picture"},
      {"GIF89a"s + std::string(300, 'x'), "a GIF picture"},
      {"%PDF-1.7\n1 0 obj\n<< /Type /Catalog >>\nendobj\n"s, "a PDF document"},
      {"<!DOCTYPE html>\n<html><body>404</body></html>\n"s, "a web page (HTML)"},
      {"\x1F\x8B\x08\0"s + std::string(100, 'z'), "a gzip archive"},
      {"Rar!\x1A\x07\1\0"s + std::string(100, 'z'), "a RAR archive"},
      {std::string(5000, '\0'), "nothing but zero bytes"}};
  for (const std::string ending : {".stl", ".obj", ".ply", ".off", ".3mf", ".STL", ""})
    for (const auto& [bytes, name] : contents) {
      CAPTURE(ending);
      CAPTURE(name);
      const auto from_disk = read_mesh_file(folder.put("renamed" + ending, bytes));
      REQUIRE_FALSE(from_disk);
      CHECK(from_disk.error().code == Code::format_unknown);
      CHECK(from_disk.error().text.find("is " + name + ", not a mesh") != std::string::npos);
      const auto from_memory =
          read_mesh_bytes(std::as_bytes(std::span(bytes.data(), bytes.size())), "renamed" + ending);
      REQUIRE_FALSE(from_memory);
      CHECK(from_memory.error().text == from_disk.error().text);
    }
  // A mesh is a mesh whatever its header says.
  std::string named = stl_binary(cube());
  named.replace(0, 4, "GIF89a", 4);
  CHECK(read_mesh_file(folder.put("named.stl", named)));
  std::string jpeg = stl_binary(cube());
  jpeg.replace(0, 3, "\xFF\xD8\xFF");
  CHECK(read_mesh_file(folder.put("jpeg.stl", jpeg)));
}
