// SPDX-License-Identifier: GPL-3.0-or-later
// The only code that knows environment, terminal, clock and standard streams. It hands them to the command
// line as plain values, so that everything below can be tested without them.
#include "cli/exit_status.hpp"
#include "cli/run.hpp"

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <exception>
#include <optional>
#include <string>
#include <string_view>

#include <elf.h>
#include <link.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace {

std::string_view environment(const char* name) {
  const char* v = std::getenv(name);
  return v != nullptr ? v : "";
}

/// The first of the three that is set decides, as POSIX orders them.
std::string_view locale_of(const char* category) {
  for (const char* name : {"LC_ALL", category, "LANG"})
    if (!environment(name).empty()) return environment(name);
  return "";
}

/// Where the XDG Base Directory Specification has programs keep their files.
std::string own_folder(const char* variable, std::string_view usual) {
  const std::string_view given = environment(variable), home = environment("HOME");
  if (given.starts_with("/")) return std::string(given) + "/pourwright";
  return !home.starts_with("/") ? std::string() : std::string(home) + std::string(usual) + "/pourwright";
}

/// The linker's digest of the program; every build that differs has another.
std::string build_id() {
  std::string id = POURWRIGHT_VERSION " ";
  const auto look = [](dl_phdr_info* object, std::size_t, void* into) {
    for (int i = 0; i < object->dlpi_phnum; ++i) {
      const ElfW(Phdr)& part = object->dlpi_phdr[i];
      if (part.p_type != PT_NOTE) continue;
      const char* at = reinterpret_cast<const char*>(object->dlpi_addr + part.p_vaddr);
      const char* const end = at + part.p_memsz;
      while (at + sizeof(ElfW(Nhdr)) <= end) {
        ElfW(Nhdr) note;
        std::memcpy(&note, at, sizeof note);
        at += sizeof note;
        const std::size_t name = (note.n_namesz + 3U) & ~3U, content = (note.n_descsz + 3U) & ~3U;
        if (note.n_type == NT_GNU_BUILD_ID && note.n_namesz == 4 && std::memcmp(at, "GNU", 4) == 0)
          static_cast<std::string*>(into)->append(at + name, note.n_descsz);
        at += name + content;
      }
    }
    return 1;  // the program itself comes first; its libraries do not count
  };
  dl_iterate_phdr(look, &id);
  return id;
}

// ---- a run that is interrupted says how it goes on
// ---------------------------------------------------------

std::string interrupted_text;  // made before the handler may need it
volatile std::sig_atomic_t progress_shown = 0;

extern "C" void say_and_end(int signal) {
  if (progress_shown != 0 && write(STDERR_FILENO, "\n", 1) < 0) _exit(128 + signal);
  if (write(STDERR_FILENO, interrupted_text.data(), interrupted_text.size()) < 0) _exit(128 + signal);
  _exit(128 + signal);
}

std::string quoted(const std::string& word) {
  static constexpr std::string_view harmless =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+=./,:@%";
  if (!word.empty() && word.find_first_not_of(harmless) == std::string::npos) return word;
  std::string out = "'";
  for (const char c : word) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

void say_when_interrupted(int argc, char** argv, bool remembers) {
  interrupted_text = "pourwright: interrupted; nothing was written";
  if (remembers) {
    interrupted_text += ". What was measured is kept, and this goes on from there:\n ";
    for (int i = 0; i < argc; ++i) interrupted_text += " " + quoted(argv[i]);
  }
  interrupted_text += "\n";
  for (const int s : {SIGINT, SIGTERM}) std::signal(s, say_and_end);
}

/// One line that is written over, a hundred times a folder at most.
void show_progress(std::size_t done, std::size_t all) {
  const std::size_t steps = std::min<std::size_t>(all, 100);
  if (all < 2 || (done * steps / all == (done - 1) * steps / all && done != all)) return;
  std::fprintf(stderr, done == all ? "\r\033[K" : "\r%zu of %zu files measured", done, all);
  std::fflush(stderr);
  progress_shown = done == all ? 0 : 1;
}

/// A question on standard error, which stays free for it while the result goes elsewhere.
std::optional<std::string> ask(const std::string& question) {
  std::fwrite(question.data(), 1, question.size(), stderr);
  std::fflush(stderr);
  std::string line;
  for (int c = std::getchar(); c != '\n'; c = std::getchar()) {
    if (c == EOF) return std::nullopt;
    if (line.size() < 4096) line.push_back(static_cast<char>(c));
  }
  return line;
}

void read_clock(pourwright::cli::Surroundings& s) {
  // Set where the same command must print the same text again (reproducible-builds.org).
  const std::string_view fixed = environment("SOURCE_DATE_EPOCH");
  if (std::from_chars(fixed.data(), fixed.data() + fixed.size(), s.now).ec == std::errc{}) return;
  const std::time_t now = std::time(nullptr);
  s.now = now;
  std::tm local{};
  if (localtime_r(&now, &local) != nullptr) s.utc_offset = local.tm_gmtoff;
}

pourwright::cli::Surroundings surroundings() {
  pourwright::cli::Surroundings s;
  read_clock(s);
  s.data_folder = own_folder("XDG_DATA_HOME", "/.local/share");
  if (environment("HOME").starts_with("/")) s.home = environment("HOME");
  s.config_folder = own_folder("XDG_CONFIG_HOME", "/.config");
  if (isatty(STDIN_FILENO) != 0 && isatty(STDERR_FILENO) != 0 && environment("TERM") != "dumb") s.ask = ask;
  s.cache_folder = own_folder("XDG_CACHE_HOME", "/.cache");
  s.state_folder = own_folder("XDG_STATE_HOME", "/.local/state");
  s.build = build_id();
  if (isatty(STDERR_FILENO) != 0 && environment("TERM") != "dumb" && environment("CI").empty())
    s.progress = show_progress;
  s.output_is_terminal = isatty(STDOUT_FILENO) != 0 && environment("TERM") != "dumb";
  winsize size{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) s.terminal_width = size.ws_col;
  const std::string_view ctype = locale_of("LC_CTYPE");
  // Unset means unknown, not ASCII: nearly every terminal of today shows UTF-8.
  s.utf8 = ctype.empty() || ctype.find("UTF-8") != std::string_view::npos ||
           ctype.find("utf8") != std::string_view::npos || ctype.find("UTF8") != std::string_view::npos ||
           ctype.find("utf-8") != std::string_view::npos;
  s.no_colour = !environment("NO_COLOR").empty();
  s.force_colour = !environment("CLICOLOR_FORCE").empty() && environment("CLICOLOR_FORCE") != "0";
  // Languages of Europe and South America that write a comma; a display choice only, numbers in JSON keep the
  // point.
  const std::string_view language = locale_of("LC_NUMERIC").substr(0, 2);
  for (const std::string_view l :
       {"de", "fr", "nl", "es", "it", "pt", "pl", "cs", "da", "sv", "nb", "nn", "fi",
        "ru", "uk", "tr", "hu", "ro", "bg", "el", "hr", "sk", "sl", "lt", "lv", "et"})
    s.comma |= language == l;
  return s;
}

bool write_all(std::FILE* to, std::string_view text) {
  return std::fwrite(text.data(), 1, text.size(), to) == text.size() && std::fflush(to) == 0;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace pourwright::cli;
  try {
    Surroundings around = surroundings();
    around.resumable = [&](bool remembers) { say_when_interrupted(argc, argv, remembers); };
    const Outcome o = run({argv + 1, argv + argc}, around);
    const bool said = write_all(stderr, o.err);
    if (!write_all(stdout, o.out)) {
      write_all(stderr, std::string("pourwright: standard output could not be written: ") +
                            std::strerror(errno) + "\n");
      return io_error;
    }
    return said ? o.exit_code : static_cast<int>(io_error);
  } catch (const std::bad_alloc&) {
    write_all(stderr, "pourwright: there is not enough memory for this [memory-limit]\n");
    return memory_out;
  } catch (const std::exception& e) {
    write_all(stderr, std::string("pourwright: contradicted itself: ") + e.what() + " [internal]\n");
    return own_bug;
  }
}
