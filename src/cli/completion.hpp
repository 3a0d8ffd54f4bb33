// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/problem.hpp>

#include <string>
#include <string_view>

namespace pourwright::cli {

/// A completion script for bash, zsh or fish, made from the option table.
Expected<std::string> completion_script(std::string_view shell);

}  // namespace pourwright::cli
