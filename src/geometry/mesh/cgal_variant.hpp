// SPDX-License-Identifier: GPL-3.0-or-later
// One way to ask for the result of an intersection in CGAL 5 and 6.
#pragma once

#include <variant>

#include <boost/variant/get.hpp>

namespace pourwright {

/// What CGAL finds two shapes to have in common, if it is a T: a boost::variant in CGAL 5, a std::variant in
/// CGAL 6.
template <class T, class... Ts>
const T* get_as(const std::variant<Ts...>& v) {
  return std::get_if<T>(&v);
}
template <class T, class Variant>
const T* get_as(const Variant& v) {
  return boost::get<T>(&v);
}

}  // namespace pourwright
