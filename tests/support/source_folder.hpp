// SPDX-License-Identifier: GPL-3.0-or-later
// Where the checkout lies that the tests were built from. Only one file knows it, so that the others compile
// alike in every checkout.
#pragma once

#include <filesystem>

std::filesystem::path source_folder();
