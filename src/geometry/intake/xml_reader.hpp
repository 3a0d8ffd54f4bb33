// SPDX-License-Identifier: GPL-3.0-or-later
// Start and end tags of an XML document, one after another, in constant memory. A document tree of a mesh
// takes ten times the mesh. Text, comments, processing instructions and CDATA are passed over; entities are
// never expanded, so a document type declaration can do no harm: it is passed over too, and one with rules of
// its own is refused.
#pragma once

#include "geometry/intake/byte_window.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace pourwright::intake {

class XmlReader {
 public:
  enum class Event : std::uint8_t { start, end, done, broken };

  explicit XmlReader(ByteWindow& bytes);

  /// After `start` and `end`, `name` is the element's. An element closed in its own tag gives both.
  Event next();
  std::string_view name() const { return name_; }  ///< without a namespace prefix
  std::string_view why() const { return why_; }    ///< after `broken`
  bool cut_off() const { return cut_off_; }        ///< broken because the bytes ended
  /// How many elements are open, the current one included.
  std::size_t depth() const { return open_.size(); }
  /// The element i levels above the current one, or nothing.
  std::string_view above(std::size_t i) const {
    return i + 1 < open_.size() ? local(open_[open_.size() - 2 - i]) : "";
  }

  /// After `start`: calls f(name without prefix, raw value) for each attribute; the values live until `next`,
  /// and each is followed by a quote. False when the tag is malformed.
  template <class F>
  bool attributes(F f) const {
    const char* p = attributes_;
    while (true) {
      while (is_space(*p)) ++p;
      if (p >= tag_end_) return true;
      const char* const first = p;
      while (p < tag_end_ && *p != '=' && !is_space(*p)) ++p;
      const std::string_view word(first, static_cast<std::size_t>(p - first));
      while (is_space(*p)) ++p;
      if (p >= tag_end_ || *p++ != '=') return false;
      while (is_space(*p)) ++p;
      const char quote = *p++;
      if (p > tag_end_ || (quote != '"' && quote != '\'')) return false;
      const char* const value = p;
      while (p < tag_end_ && *p != quote) ++p;
      if (p >= tag_end_) return false;
      f(local(word), std::string_view(value, static_cast<std::size_t>(p - value)));
      ++p;
    }
  }

 private:
  static bool is_space(char c) { return c == ' ' || c == '\n' || c == '\t' || c == '\r'; }
  static std::string_view local(std::string_view word) {
    const std::size_t colon = word.find(':');
    return colon == std::string_view::npos ? word : word.substr(colon + 1);
  }
  Event broken(std::string_view why) {
    why_ = why;
    return Event::broken;
  }
  bool skip_past(std::string_view mark);
  bool find_tag_end();
  Event open_tag();
  Event close_tag();
  Event skip_declaration(bool& skipped);

  ByteWindow& bytes_;
  std::vector<std::string> open_;  // qualified names
  std::string_view name_, why_;
  const char* attributes_ = nullptr;
  const char* tag_end_ = nullptr;  // the '>' or the '/' before it
  bool closing_ = false, cut_off_ = false, pop_ = false;
};

}  // namespace pourwright::intake
