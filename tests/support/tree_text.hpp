// SPDX-License-Identifier: GPL-3.0-or-later
// A forest of cavities as text that does not depend on numbering: two forests are the same when their texts
// are.
#pragma once

#include <pourwright/cavity.hpp>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/format.h>

struct TreeNode {
  int parent = -1;  // index, −1 for none
  bool sealed = false;
  double floor = 0, brim = 0, capacity = 0;
};

/// Numbers to `digits` decimals. What lies below a sealed void is left out, since it is not listed either.
inline std::string text_of(const std::vector<TreeNode>& nodes, int digits = 6) {
  std::vector<std::vector<std::size_t>> children(nodes.size());
  std::vector<std::size_t> roots;
  for (std::size_t i = 0; i < nodes.size(); ++i)
    (nodes[i].parent < 0 ? roots : children[static_cast<std::size_t>(nodes[i].parent)]).push_back(i);
  const auto rounded = [digits](double v) {
    // Off the ties, where one rounding more or less would show.
    return fmt::format("{:.{}f}", v + 0.137 * std::pow(10.0, -digits), digits);
  };
  const auto text = [&](auto&& self, std::size_t i) -> std::string {
    const TreeNode& n = nodes[i];
    std::string out = fmt::format("{}{}..{}:{}", n.sealed ? "sealed " : "", rounded(n.floor), rounded(n.brim),
                                  rounded(n.capacity));
    std::vector<std::string> parts;
    if (!n.sealed)
      for (const std::size_t c : children[i]) parts.push_back(self(self, c));
    std::sort(parts.begin(), parts.end());
    if (!parts.empty()) out += "(";
    for (const std::string& p : parts) out += p + " ";
    if (!parts.empty()) out += ")";
    return out;
  };
  std::vector<std::string> lines;
  for (const std::size_t r : roots) lines.push_back(text(text, r));
  std::sort(lines.begin(), lines.end());
  std::string all;
  for (const std::string& l : lines) all += l + "\n";
  return all;
}

inline std::string text_of(const pourwright::Cavities& cavities, int digits = 6) {
  std::vector<TreeNode> nodes;
  for (const pourwright::Cavity& c : cavities.list())
    nodes.push_back({c.parent - 1, c.kind == pourwright::CavityKind::sealed, in_millimetres(c.floor),
                     in_millimetres(c.brim), in_cubic_millimetres(c.capacity.value)});
  return text_of(nodes, digits);
}
