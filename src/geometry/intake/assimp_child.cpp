// SPDX-License-Identifier: GPL-3.0-or-later
// Formats that only Assimp reads, in a child process: it has crashed on damaged files, so it gets limits of
// memory, time and files, and what it sends through a pipe is checked like a file from a stranger.
#include "geometry/intake/more_formats.hpp"

#ifndef POURWRIGHT_ASSIMP

namespace pourwright::intake {
bool assimp_built() {
  return false;
}
Expected<MeshFile> read_with_assimp(std::span<const std::byte>, std::string_view, std::string_view,
                                    const Job& job, double) {
  return fail(Code::format_not_built, job.label + ": this build has no general mesh library",
              "install libassimp-dev and build again");
}
}  // namespace pourwright::intake

#else

#include <array>
#include <csignal>
#include <cstring>

#include <assimp/BaseImporter.h>
#include <assimp/DefaultLogger.hpp>
#include <assimp/IOStream.hpp>
#include <assimp/IOSystem.hpp>
#include <assimp/Importer.hpp>
#include <assimp/LogStream.hpp>
#include <assimp/MemoryIOWrapper.h>
#include <assimp/config.h>
#include <assimp/importerdesc.h>
#include <assimp/scene.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/prctl.h>
#endif

#include "geometry/intake/scalars.hpp"
#include "geometry/intake/text_reader.hpp"

namespace pourwright::intake {
namespace {

// The pipe carries blocks: a tag and a count (two 32-bit numbers), then `vertices` count × 3 doubles,
// `face` count indices, `warning` and `failure` count bytes of text, `end` nothing.
enum class Tag : std::uint32_t { vertices = 0x31565750, face, warning, failure, end };

constexpr std::size_t most_triangles_here = 20'000'000;  // Assimp takes more than 500 bytes for each
constexpr std::size_t vertices_per_block = 4096;
constexpr std::size_t longest_text = 300;
constexpr int most_depth = 256;
constexpr rlim_t most_cpu_seconds = 30;
constexpr int most_idle_seconds = 120;

// ---- in the child ---------------------------------------------------------------------------------------

class Pipe {
 public:
  explicit Pipe(int fd) : fd_(fd) { buffer_.reserve(capacity); }
  ~Pipe() { flush(); }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  void put(const void* data, std::size_t n) {
    if (buffer_.size() + n > capacity) flush();
    const char* const bytes = static_cast<const char*>(data);
    if (n > capacity)
      write_all(bytes, n);
    else
      buffer_.insert(buffer_.end(), bytes, bytes + n);
  }
  void put_block(Tag tag, std::size_t count) {
    const std::array<std::uint32_t, 2> head{static_cast<std::uint32_t>(tag),
                                            static_cast<std::uint32_t>(count)};
    put(head.data(), sizeof head);
  }
  void flush() {
    write_all(buffer_.data(), buffer_.size());
    buffer_.clear();
  }

 private:
  static constexpr std::size_t capacity = 64 << 10;
  void write_all(const char* data, std::size_t n) const {
    while (n > 0) {
      const ssize_t sent = write(fd_, data, n);
      if (sent < 0 && errno == EINTR) continue;
      if (sent <= 0) _exit(1);
      data += sent;
      n -= static_cast<std::size_t>(sent);
    }
  }
  int fd_;
  std::vector<char> buffer_;
};

/// A file system with one file in it.
class OneFile final : public Assimp::IOSystem {
 public:
  OneFile(std::string name, std::span<const std::byte> bytes) : name_(std::move(name)), bytes_(bytes) {}
  bool Exists(const char* file) const override { return name_ == file; }
  char getOsSeparator() const override { return '/'; }
  Assimp::IOStream* Open(const char* file, const char* mode) override {
    if (name_ != file || std::strchr(mode, 'w') != nullptr) return nullptr;
    return new Assimp::MemoryIOStream(reinterpret_cast<const std::uint8_t*>(bytes_.data()), bytes_.size());
  }
  void Close(Assimp::IOStream* stream) override { delete stream; }

 private:
  std::string name_;
  std::span<const std::byte> bytes_;
};

using Placement = Eigen::Matrix4d;
Placement placement(const aiMatrix4x4& m) {
  Placement out;
  out << m.a1, m.a2, m.a3, m.a4, m.b1, m.b2, m.b3, m.b4, m.c1, m.c2, m.c3, m.c4, m.d1, m.d2, m.d3, m.d4;
  return out;
}

void send_mesh(const aiMesh& mesh, const Placement& at, std::uint32_t& base, Pipe& pipe) {
  for (unsigned i = 0; i < mesh.mNumVertices; i += vertices_per_block) {
    const unsigned n = std::min<unsigned>(vertices_per_block, mesh.mNumVertices - i);
    pipe.put_block(Tag::vertices, n);
    for (unsigned k = i; k < i + n; ++k) {
      const aiVector3D& v = mesh.mVertices[k];
      const Vec3 p = at.topLeftCorner<3, 3>() * Vec3(v.x, v.y, v.z) + at.topRightCorner<3, 1>();
      pipe.put(p.data(), 3 * sizeof(double));
    }
  }
  const bool mirrored = at.topLeftCorner<3, 3>().determinant() < 0;
  std::vector<std::uint32_t> corners;
  for (unsigned i = 0; i < mesh.mNumFaces; ++i) {
    const aiFace& face = mesh.mFaces[i];
    corners.assign(face.mIndices, face.mIndices + face.mNumIndices);
    if (mirrored) std::reverse(corners.begin(), corners.end());
    for (std::uint32_t& c : corners) c = c < mesh.mNumVertices ? c + base : none;
    if (corners.size() < 3) continue;
    pipe.put_block(Tag::face, corners.size());
    pipe.put(corners.data(), corners.size() * sizeof(std::uint32_t));
  }
  base += mesh.mNumVertices;
}

bool send_node(const aiScene& scene, const aiNode& node, const Placement& above, int depth,
               std::uint32_t& base, Pipe& pipe) {
  if (depth > most_depth) return false;
  const Placement here = above * placement(node.mTransformation);
  for (unsigned i = 0; i < node.mNumMeshes; ++i)
    if (node.mMeshes[i] < scene.mNumMeshes) send_mesh(*scene.mMeshes[node.mMeshes[i]], here, base, pipe);
  for (unsigned i = 0; i < node.mNumChildren; ++i)
    if (!send_node(scene, *node.mChildren[i], here, depth + 1, base, pipe)) return false;
  return true;
}

void send_text(Tag tag, std::string_view text, Pipe& pipe) {
  text = text.substr(0, longest_text);
  pipe.put_block(tag, text.size());
  pipe.put(text.data(), text.size());
}
void send_failure(std::string_view why, Pipe& pipe) {
  send_text(Tag::failure, why, pipe);
}

/// Assimp leaves out what it finds damaged and says so only here.
class Warnings final : public Assimp::LogStream {
 public:
  explicit Warnings(Pipe& pipe) : pipe_(pipe) {}
  void write(const char* message) override {
    if (sent_++ < 3) send_text(Tag::warning, message, pipe_);
  }

 private:
  Pipe& pipe_;
  int sent_ = 0;
};

void import_scene(std::span<const std::byte> bytes, std::string_view importer, std::string_view ending,
                  Pipe& pipe) {
  const std::string name = "mesh" + std::string(ending);
  Assimp::Importer assimp;
  for (std::size_t i = assimp.GetImporterCount(); i-- > 0;)
    if (std::string_view(assimp.GetImporterInfo(i)->mName).find(importer) == std::string_view::npos)
      assimp.UnregisterLoader(assimp.GetImporter(i));
  if (assimp.GetImporterCount() == 0) return send_failure("this copy of the library lacks the reader", pipe);
  assimp.SetIOHandler(new OneFile(name, bytes));
  assimp.SetPropertyBool(AI_CONFIG_IMPORT_COLLADA_IGNORE_UP_DIRECTION, true);
  Assimp::DefaultLogger::create("", Assimp::Logger::NORMAL, 0);
  Assimp::DefaultLogger::get()->attachStream(new Warnings(pipe), Assimp::Logger::Warn | Assimp::Logger::Err);
  const aiScene* const scene = assimp.ReadFile(name, 0);
  if (scene == nullptr || scene->mRootNode == nullptr) return send_failure(assimp.GetErrorString(), pipe);
  std::uint32_t base = 0;
  if (!send_node(*scene, *scene->mRootNode, Placement::Identity(), 0, base, pipe))
    return send_failure("nodes are nested too deeply", pipe);
  pipe.put_block(Tag::end, 0);
  pipe.flush();
  _exit(0);  // no destructors: nothing of this process is needed any more
}

void set_limit(decltype(RLIMIT_CPU) resource, rlim_t most) {
  rlimit limit{};
  getrlimit(resource, &limit);
  limit.rlim_max = std::min(limit.rlim_max, most);
  limit.rlim_cur = limit.rlim_max;
  setrlimit(resource, &limit);
}

#ifndef __SANITIZE_ADDRESS__
/// Address space in use, as far as the system tells.
rlim_t address_space_in_use() {
  const int fd = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
  std::array<char, 64> text{};
  const ssize_t n = fd < 0 ? 0 : read(fd, text.data(), text.size() - 1);
  if (fd >= 0) close(fd);
  rlim_t pages = 0;
  if (n > 0) std::from_chars(text.data(), text.data() + n, pages);
  return pages * static_cast<rlim_t>(sysconf(_SC_PAGESIZE));
}
#endif

[[noreturn]] void run_child(int out, std::span<const std::byte> bytes, std::string_view importer,
                            std::string_view ending) {
#ifdef __linux__
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
#endif
  for (const int s : {SIGINT, SIGTERM, SIGILL, SIGABRT, SIGSEGV, SIGFPE, SIGBUS, SIGXCPU, SIGPIPE})
    std::signal(s, SIG_DFL);
  const int nowhere = open("/dev/null", O_RDWR | O_CLOEXEC);
  if (nowhere >= 0)
    for (const int fd : {0, 1, 2})
      if (fd != out) dup2(nowhere, fd);
#ifndef __SANITIZE_ADDRESS__  // its shadow memory reserves terabytes
  set_limit(RLIMIT_AS, address_space_in_use() + (rlim_t{2} << 30) + 64 * bytes.size());
#endif
  set_limit(RLIMIT_CPU, most_cpu_seconds);
  set_limit(RLIMIT_CORE, 0);
  set_limit(RLIMIT_FSIZE, 0);
  set_limit(RLIMIT_NOFILE, 0);  // what is open stays open; nothing else can be opened
  Pipe pipe(out);
  try {
    import_scene(bytes, importer, ending, pipe);
  } catch (const std::exception& e) {
    send_failure(e.what(), pipe);
  } catch (...) {
    send_failure("unknown failure", pipe);
  }
  pipe.flush();
  _exit(0);
}

// ---- in the parent --------------------------------------------------------------------------------------

/// Bytes from the child. Waiting is counted in seconds of silence; the child's own work is bounded by its
/// limit.
class PipeSource final : public ByteSource {
 public:
  explicit PipeSource(int fd) : fd_(fd) {}
  std::size_t read(char* into, std::size_t n) override {
    for (int idle = 0; idle < most_idle_seconds;) {
      pollfd waiting{fd_, POLLIN, 0};
      const int ready = poll(&waiting, 1, 1000);
      if (ready == 0) ++idle;
      if (ready < 0 && errno != EINTR) return 0;
      if (ready <= 0) continue;
      const ssize_t got = ::read(fd_, into, n);
      if (got < 0 && errno == EINTR) continue;
      return got > 0 ? static_cast<std::size_t>(got) : 0;
    }
    return 0;
  }

 private:
  int fd_;
};

Problem failed(const Job& job, std::string_view why) {
  return fail(Code::reader_failed, fmt::format("{}: {}", job.label, why),
              "export the mesh as STL, OBJ, PLY or 3MF; of glTF only the kind with everything in one file "
              "(GLB) is read");
}

class Receiver {
 public:
  Receiver(int fd, const Job& job) : window_(std::make_unique<PipeSource>(fd), 0), job_(job), faces_(job) {}

  Expected<MeshFile> receive(double scale) {
    while (true) {
      if (!window_.want(8))
        return failed(job_, "the library that reads the format crashed, or took too much time or memory");
      const auto tag = load_scalar<std::uint32_t, std::endian::native>(window_.cursor);
      const auto count = load_scalar<std::uint32_t, std::endian::native>(window_.cursor + 4);
      window_.cursor += 8;
      std::optional<Problem> problem;
      switch (static_cast<Tag>(tag)) {
        case Tag::vertices:
          problem = take_vertices(count);
          break;
        case Tag::face:
          problem = take_face(count);
          break;
        case Tag::warning:
          problem = take_warning(count);
          break;
        case Tag::failure:
          return failed(job_, "the library that reads the format refused it: " + take_text(count));
        case Tag::end:
          return finish(scale);
        default:
          problem = failed(job_, "the library that reads the format went astray");
      }
      if (problem) return *problem;
      if (faces_.full() || faces_.vertices.size() > 3 * std::min(job_.max_triangles, most_triangles_here))
        return too_many_triangles(job_);
    }
  }

 private:
  std::optional<Problem> take_vertices(std::uint32_t count) {
    for (; count > 0; --count) {
      if (!window_.want(24)) return failed(job_, "the library that reads the format stopped midway");
      Vec3 p;
      std::memcpy(p.data(), window_.cursor, 24);
      window_.cursor += 24;
      if (!p.allFinite()) return not_finite(job_, fmt::format("vertex {}", faces_.vertices.size() + 1));
      faces_.vertices.push_back(p);
      if (faces_.vertices.size() > most_vertices) return too_many_triangles(job_);
    }
    return std::nullopt;
  }
  std::optional<Problem> take_face(std::uint32_t count) {
    corners_.clear();
    for (; count > 0; --count) {
      if (!window_.want(4)) return failed(job_, "the library that reads the format stopped midway");
      corners_.push_back(load_scalar<std::uint32_t, std::endian::native>(window_.cursor));
      window_.cursor += 4;
      // Vertices come before the faces that use them.
      if (corners_.back() >= faces_.vertices.size())
        return bad_index(job_, fmt::format("face {}", faces_.faces() + 1), corners_.back(),
                         faces_.vertices.size());
    }
    faces_.face(corners_);
    return std::nullopt;
  }
  std::string take_text(std::uint32_t count) {
    window_.want(std::min<std::size_t>(count, longest_text));
    const std::string_view text(window_.cursor,
                                std::min<std::size_t>(count, std::min(longest_text, window_.have())));
    window_.cursor += text.size();
    std::string out = printable(text);
    while (!out.empty() && (out.back() == '?' || out.back() == ' ')) out.pop_back();  // line ends
    return out;
  }
  std::optional<Problem> take_warning(std::uint32_t count) {
    if (warnings_.size() >= 3) return failed(job_, "the library that reads the format went astray");
    std::string said = take_text(count);
    if (const std::size_t at = said.find(": "); at < 16) said.erase(0, at + 2);  // level and thread
    // A mesh with faces left out would look like a mesh with holes.
    if (said.find("out-of-range") != std::string::npos)
      return fail(Code::index_out_of_range, fmt::format("{}: {}", job_.label, said),
                  "the file is damaged or was written wrongly; export it again");
    note(warnings_, "reader-warning", "the library that reads the format says: " + said);
    return std::nullopt;
  }
  Expected<MeshFile> finish(double scale) {
    MeshFile result = job_.start(MeshFormat::unknown);
    result.notes = std::move(warnings_);
    return std::move(faces_).finish(std::move(result), scale);
  }

  ByteWindow window_;
  const Job& job_;
  FaceCollector faces_;
  std::vector<Index> corners_;
  Notes warnings_;
};

}  // namespace

bool assimp_built() {
  return true;
}

Expected<MeshFile> read_with_assimp(std::span<const std::byte> bytes, std::string_view importer,
                                    std::string_view ending, const Job& job, double scale) {
  std::array<int, 2> ends{};
  if (pipe(ends.data()) != 0) return failed(job, "no pipe could be made for a helper process");
  for (const int fd : ends) fcntl(fd, F_SETFD, FD_CLOEXEC);
  const pid_t child = fork();
  if (child < 0) {
    close(ends[0]);
    close(ends[1]);
    return failed(job, "no helper process could be started");
  }
  if (child == 0) {
    close(ends[0]);
    run_child(ends[1], bytes, importer, ending);
  }
  close(ends[1]);
  Expected<MeshFile> result = [&]() -> Expected<MeshFile> {
    try {
      return Receiver(ends[0], job).receive(scale);
    } catch (const std::bad_alloc&) {
      return fail(Code::memory_limit, fmt::format("{} needs more memory than there is", job.label),
                  "reduce the mesh");
    }
  }();
  close(ends[0]);
  kill(child, SIGKILL);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return result;
}

}  // namespace pourwright::intake

#endif
