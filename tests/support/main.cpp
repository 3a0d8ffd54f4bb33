// SPDX-License-Identifier: GPL-3.0-or-later
#define DOCTEST_CONFIG_IMPLEMENT_WITH_MAIN
#include "support/source_folder.hpp"

#include <doctest/doctest.h>

std::filesystem::path source_folder() {
  return POURWRIGHT_SOURCE_DIR;
}
