// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <pourwright/problem.hpp>

namespace pourwright::cli {

enum ExitStatus : int {
  done = 0,
  some_failed = 1,
  limit_exceeded = 2,
  usage_error = 64,
  bad_data = 65,
  input_missing = 66,
  not_installed = 69,
  own_bug = 70,
  cannot_create = 73,
  io_error = 74,
  temporary_failure = 75,
  bad_configuration = 78,
  time_up = 124,
  memory_out = 137,
};

inline int exit_status(Code code) {
  switch (info(code).kind) {
    case Kind::usage:
      return usage_error;
    case Kind::bad_data:
      return bad_data;
    case Kind::input_missing:
      return input_missing;
    case Kind::not_installed:
      return not_installed;
    case Kind::internal:
      return own_bug;
    case Kind::cannot_create:
      return cannot_create;
    case Kind::io:
      return io_error;
    case Kind::config:
      return bad_configuration;
    case Kind::temporary:
      return temporary_failure;
    case Kind::limit:
      return code == Code::memory_limit ? memory_out : time_up;
  }
  return own_bug;
}

}  // namespace pourwright::cli
