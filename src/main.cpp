// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/exit_status.hpp"
#include "cli/run.hpp"

#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <exception>
#include <string>
#include <string_view>

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

/// Where the XDG Base Directory Specification has programs keep their data.
std::string data_folder() {
  const std::string_view given = environment("XDG_DATA_HOME"), home = environment("HOME");
  if (given.starts_with("/")) return std::string(given) + "/pourwright";
  return home.empty() ? std::string() : std::string(home) + "/.local/share/pourwright";
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
  s.data_folder = data_folder();
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
    const Outcome o = run({argv + 1, argv + argc}, surroundings());
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
