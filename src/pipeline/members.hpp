// SPDX-License-Identifier: GPL-3.0-or-later
// The members of a plain struct as a tuple of references, in the order of their declaration, found by the
// compiler: one that is added to a struct is written and read without being named a second time.
#pragma once

#include <cstddef>
#include <tuple>
#include <type_traits>
#include <utility>

namespace pourwright {
namespace members_detail {

struct Anything {
  template <class T>
  operator T() const;  // only named, never called
};

template <class T, std::size_t... I>
constexpr bool takes(std::index_sequence<I...>) {
  return requires {
    T{(static_cast<void>(I), Anything{})...};
  };
}

}  // namespace members_detail

/// How many members an aggregate has: the longest list of anything that initialises it.
template <class T, std::size_t N = 0>
constexpr std::size_t count_members() {
  if constexpr (members_detail::takes<T>(std::make_index_sequence<N + 1>{}))
    return count_members<T, N + 1>();
  else
    return N;
}

/// References to all members of `s`, an aggregate with 1 to 24 of them without bases.
template <class T>
constexpr auto members(T& whole) {
  constexpr std::size_t count = count_members<std::remove_const_t<T>>();
  static_assert(std::is_aggregate_v<std::remove_const_t<T>> && count >= 1 && count <= 24);
  if constexpr (count == 1) {
    auto& [m1] = whole;
    return std::tie(m1);
  } else if constexpr (count == 2) {
    auto& [m1, m2] = whole;
    return std::tie(m1, m2);
  } else if constexpr (count == 3) {
    auto& [m1, m2, m3] = whole;
    return std::tie(m1, m2, m3);
  } else if constexpr (count == 4) {
    auto& [m1, m2, m3, m4] = whole;
    return std::tie(m1, m2, m3, m4);
  } else if constexpr (count == 5) {
    auto& [m1, m2, m3, m4, m5] = whole;
    return std::tie(m1, m2, m3, m4, m5);
  } else if constexpr (count == 6) {
    auto& [m1, m2, m3, m4, m5, m6] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6);
  } else if constexpr (count == 7) {
    auto& [m1, m2, m3, m4, m5, m6, m7] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7);
  } else if constexpr (count == 8) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8);
  } else if constexpr (count == 9) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9);
  } else if constexpr (count == 10) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10);
  } else if constexpr (count == 11) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11);
  } else if constexpr (count == 12) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12);
  } else if constexpr (count == 13) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13);
  } else if constexpr (count == 14) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14);
  } else if constexpr (count == 15) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15);
  } else if constexpr (count == 16) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16);
  } else if constexpr (count == 17) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17);
  } else if constexpr (count == 18) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18);
  } else if constexpr (count == 19) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19);
  } else if constexpr (count == 20) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19,
                    m20);
  } else if constexpr (count == 21) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21] =
        whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20,
                    m21);
  } else if constexpr (count == 22) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21,
           m22] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20,
                    m21, m22);
  } else if constexpr (count == 23) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21,
           m22, m23] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20,
                    m21, m22, m23);
  } else if constexpr (count == 24) {
    auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21,
           m22, m23, m24] = whole;
    return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20,
                    m21, m22, m23, m24);
  }
}

}  // namespace pourwright
