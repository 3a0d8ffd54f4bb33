// SPDX-License-Identifier: GPL-3.0-or-later
// One measurement per process, so that memory and page faults of one do not weigh on another. tools/bench
// starts them.
//
//   pw_bench make SHAPE TRIANGLES FILE…   writes the mesh in the formats that the names ask for
//   pw_bench stages FILE [proof]          the library's own stages, with or without the self-overlap proof
//   pw_bench turns FILE                   cavities in the modelled position, and in each further one
//   pw_bench peer FILE                    Assimp: load and join identical vertices
#include <pourwright/cavity.hpp>
#include <pourwright/intake.hpp>

#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>
#ifdef BENCH_ASSIMP
#include <assimp/Importer.hpp>
#include <assimp/config.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>
#endif

#include "cpu_time.hpp"
#include "shapes.hpp"

namespace {

using Json = nlohmann::ordered_json;

int show(const Json& j) {
  std::printf("%s\n", j.dump().c_str());
  return 0;
}

int failed(const std::string& why) {
  std::fprintf(stderr, "pw_bench: %s\n", why.c_str());
  return 1;
}

int make(const std::vector<std::string>& words) {
  const bench::Mesh mesh = bench::make(words[1], std::strtoull(words[2].c_str(), nullptr, 10));
  if (mesh.triangles.empty()) return failed("no such shape: " + words[1]);
  for (std::size_t i = 3; i < words.size(); ++i)
    if (!bench::write(mesh, words[i])) return failed("cannot write " + words[i]);
  return 0;
}

/// A surface as a solid, or as a closed body when the proof is not to be timed.
template <class Result, class Lap>
int stages_of(const Result& taken, Json& j, const Lap& lap) {
  lap("solid_s");
  if (!taken) return failed(taken.error().text);
  const auto& [body, notes] = *taken;
  const auto found = find_cavities(body);
  lap("cavities_s");
  if (!found) return failed(found.error().text);
  j["volume_mm3"] = in_cubic_millimetres(body.volume().value);
  j["cavities"] = found->cavities.list().size();
  return show(j);
}

int stages(const std::string& path, bool proof) {
  using namespace pourwright;
  Json j;
  double before = bench::cpu_seconds();
  const auto lap = [&](const char* stage) {
    const double now = bench::cpu_seconds();
    j[stage] = now - before;
    before = now;
  };
  auto file = read_mesh_file(path);
  lap("read_s");
  if (!file) return failed(file.error().text);
  Surface surface = make_surface(std::move(file->soup));
  lap("surface_s");
  j["triangles"] = surface.triangles.size();
  return proof ? stages_of(prove_solid(std::move(surface)), j, lap)
               : stages_of(take_closed(std::move(surface)), j, lap);
}

int turns(const std::string& path) {
  using namespace pourwright;
  auto file = read_mesh_file(path);
  if (!file) return failed(file.error().text);
  const auto closed = take_closed(make_surface(std::move(file->soup)));
  if (!closed) return failed(closed.error().text);
  CavityOptions options;
  options.look_further = false;
  double before = bench::cpu_seconds();
  if (!find_cavities(closed->body, options)) return failed("no answer");
  const double one = bench::cpu_seconds() - before;
  options.tilts = {1.0};  // eight directions
  before = bench::cpu_seconds();
  if (!find_cavities(closed->body, options)) return failed("no answer");
  return show({{"one_s", one}, {"further_s", (bench::cpu_seconds() - before - one) / 8}});
}

#ifdef BENCH_ASSIMP
int peer(const std::string& path) {
  Assimp::Importer importer;
  // Facet normals would keep vertices apart that have the same place.
  importer.SetPropertyInteger(AI_CONFIG_PP_RVC_FLAGS, aiComponent_NORMALS);
  const aiScene* scene = importer.ReadFile(path, aiProcess_RemoveComponent | aiProcess_JoinIdenticalVertices);
  if (scene == nullptr || scene->mNumMeshes != 1) return failed(importer.GetErrorString());
  return show({{"triangles", scene->mMeshes[0]->mNumFaces}, {"vertices", scene->mMeshes[0]->mNumVertices}});
}
#else
int peer(const std::string&) {
  return failed("built without Assimp");
}
#endif

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() >= 4 && words[0] == "make") return make(words);
  if (words.size() >= 2 && words[0] == "stages")
    return stages(words[1], words.size() > 2 && words[2] == "proof");
  if (words.size() == 2 && words[0] == "turns") return turns(words[1]);
  if (words.size() == 2 && words[0] == "peer") return peer(words[1]);
  return failed("see the head of tools/bench_src/main.cpp");
}
