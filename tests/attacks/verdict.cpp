// SPDX-License-Identifier: GPL-3.0-or-later
// Runs the program in a child with limits and holds its JSON against the truth. A number counts as right when
// the truth lies inside its interval, widened by what rounding and facets leave open.
#include "verdict.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <optional>

#include <fcntl.h>
#include <nlohmann/json.hpp>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace attacks {
namespace {

using nlohmann::json;

constexpr rlim_t most_seconds = 20;
constexpr rlim_t address_space = rlim_t{4} << 30;  // a child that runs away takes nobody with it
constexpr long most_kilobytes = 1 << 20;

struct Ran {
  int code = -1;  // −1: killed
  double seconds = 0;
  bool too_much = false;
  std::optional<json> file;  // the document's entry
};

Ran run(std::vector<std::string> words, const std::filesystem::path& answer) {
  std::vector<char*> argv;
  for (std::string& w : words) argv.push_back(w.data());
  argv.push_back(nullptr);
  const pid_t child = fork();
  if (child == 0) {
    const rlimit cpu{most_seconds + 1, most_seconds + 1}, memory{address_space, address_space};
    setrlimit(RLIMIT_CPU, &cpu);
    setrlimit(RLIMIT_AS, &memory);
    const int out = open(answer.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600),
              null = open("/dev/null", O_RDWR);
    dup2(out, 1);
    dup2(null, 0);
    dup2(null, 2);
    execv(argv[0], argv.data());
    _exit(127);
  }
  Ran ran;
  int status = 0;
  rusage use{};
  if (child < 0 || wait4(child, &status, 0, &use) != child) return ran;
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  };
  ran.seconds = seconds(use.ru_utime) + seconds(use.ru_stime);
  ran.too_much = ran.seconds > most_seconds || use.ru_maxrss > most_kilobytes;
  if (WIFEXITED(status)) ran.code = WEXITSTATUS(status);
  std::ifstream in(answer);
  const json all = json::parse(in, nullptr, false);
  if (!all.is_discarded() && all.contains("files") && !all["files"].empty()) ran.file = all["files"][0];
  return ran;
}

struct Range {
  double value = 0, low = 0, high = 0;
  void add(const json& v) {
    value += v["value"].get<double>();
    low += v["low"].get<double>();
    high += v["high"].get<double>();
  }
  bool holds(double truth, double tolerance) const {
    const double slack = std::abs(truth) * tolerance;
    return low - slack <= truth && truth <= high + slack;
  }
  double width() const { return value > 0 ? (high - low) / value / 2 : 0; }
};

std::string said(const char* what, const Range& r, double truth) {
  char out[200];
  std::snprintf(out, sizeof out, "%s %.7g [%.7g, %.7g], truth %.7g", what, r.value, r.low, r.high, truth);
  return out;
}

void add(std::string& to, const std::string& more) {
  to += (to.empty() ? "" : "; ") + more;
}

/// What is wrong about the numbers; empty when nothing is.
std::string wrong(const Case& c, const json& m, double& width) {
  const double tolerance = std::max(c.tolerance, 1e-6);
  std::string bad;
  if (c.solid && m["solid"].is_object()) {
    Range r;
    r.add(m["solid"]["volume_mm3"]);
    if (!r.holds(*c.solid, tolerance)) add(bad, said("solid", r, *c.solid));
    width = std::max(width, r.width());
  }
  if (!c.capacity) return bad;
  Range filled;
  double every = 0;
  for (const json& cavity : m["cavities"]) {
    if (cavity["filled"].get<bool>()) filled.add(cavity["capacity_mm3"]);
    every += cavity["capacity_mm3"]["value"].get<double>();
  }
  std::vector<double> right{*c.capacity};
  right.insert(right.end(), c.alternatives.begin(), c.alternatives.end());
  if (m["read_as"] == "piece" && *c.capacity > 0) {
    if (std::none_of(right.begin(), right.end(),
                     [&](double v) { return std::abs(every - v) <= tolerance * v + 1e-9; }))
      add(bad, "read as a piece, truth holds " + std::to_string(*c.capacity));
  } else if (std::none_of(right.begin(), right.end(), [&](double v) { return filled.holds(v, tolerance); })) {
    add(bad, said("holds", filled, *c.capacity));
  } else {
    width = std::max(width, filled.width());
  }
  return bad;
}

std::string wrong_walls(const Case& c, const Ran& inspected) {
  std::string bad;
  const auto check = [&](const char* key, std::optional<double> truth) {
    if (!truth) return;
    const json none;
    const json& walls =
        inspected.file && inspected.file->contains("walls") ? (*inspected.file)["walls"] : none;
    if (!walls.is_object() || !walls[key].is_number())
      add(bad, std::string(key) + " is not said");
    else if (const double v = walls[key].get<double>(); std::abs(v - *truth) > 0.02 * *truth)
      add(bad, std::string(key) + " " + std::to_string(v) + ", truth " + std::to_string(*truth));
  };
  check("min_mm", c.least_wall);
  check("median_mm", c.median_wall);
  return bad;
}

}  // namespace

const char* name_of(Verdict v) {
  constexpr const char* names[verdicts] = {"right",  "wide",         "refused", "refused wrongly",
                                           "warned", "SILENT WRONG", "slow"};
  return names[static_cast<std::size_t>(v)];
}

Judged judge(const std::string& program, const std::filesystem::path& folder, const Case& c) {
  const std::filesystem::path mesh = folder / (c.name + ending(c.form)), answer = folder / "answer.json";
  std::ofstream(mesh, std::ios::binary) << file_bytes(c);
  const auto words = [&](const char* command, std::size_t from) {
    std::vector<std::string> out{program, command, mesh.string(), "--json", "--cache", "none"};
    out.insert(out.end(), c.options.begin() + static_cast<std::ptrdiff_t>(from), c.options.end());
    return out;
  };
  const bool of = !c.options.empty() && c.options[0] == "--of";  // a word of `inspect` alone
  const Ran measured = run(words("measure", of ? 2 : 0), answer);
  Judged out;
  out.seconds = measured.seconds;
  const Verdict no = c.expect == Expect::answer ? Verdict::refused_wrongly : Verdict::refused;
  if (measured.too_much) {
    out.why = std::to_string(measured.seconds) + " s";
  } else if (!measured.file) {
    out.verdict = measured.code < 0 ? Verdict::refused_wrongly : no;
    out.why = "exit code " + std::to_string(measured.code);
  } else if (const json& m = *measured.file; !m["ok"].get<bool>()) {
    out.verdict = no;
    out.why = m["error"]["code"].get<std::string>();
  } else if (c.expect == Expect::refuse) {
    out.verdict = Verdict::silent;
    out.why = "answered what should be refused";
  } else {
    out.why = wrong(c, m, out.width);
    if (c.least_wall || c.median_wall) {
      const std::string walls = wrong_walls(c, run(words("inspect", 0), answer));
      if (!walls.empty()) add(out.why, walls);
    }
    std::string warnings;
    for (const json& n : m["notes"])
      if (n.value("warning", false)) warnings += ' ' + n["code"].get<std::string>();
    if (out.why.empty())
      out.verdict = out.width > 0.03 ? Verdict::wide : Verdict::right;
    else
      out.verdict = warnings.empty() ? Verdict::silent : Verdict::warned;
    if (!out.why.empty() && !warnings.empty()) out.why += " (warned:" + warnings + ')';
  }
  std::filesystem::remove(mesh);
  return out;
}

}  // namespace attacks
