// SPDX-License-Identifier: GPL-3.0-or-later
// XML tag by tag in constant memory, for files of any size: names, attributes and depth, which is all that a
// mesh needs. Entities are never expanded, so nothing can grow.
#include "geometry/intake/xml_reader.hpp"

#include <algorithm>

namespace pourwright::intake {
namespace {

constexpr std::size_t deepest_element = 256;
constexpr std::size_t longest_name = 256;

}  // namespace

XmlReader::XmlReader(ByteWindow& bytes) : bytes_(bytes) {
  if (bytes_.want(3) && std::string_view(bytes_.cursor, 3) == "\xEF\xBB\xBF") bytes_.cursor += 3;
}

bool XmlReader::skip_past(std::string_view mark) {
  while (true) {
    const std::string_view seen(bytes_.cursor, bytes_.have());
    const std::size_t at = seen.find(mark);
    if (at != std::string_view::npos) {
      bytes_.cursor += at + mark.size();
      return true;
    }
    // The mark may stand across the window's edge.
    bytes_.cursor += seen.size() - std::min(seen.size(), mark.size() - 1);
    if (!bytes_.want(mark.size())) return false;
  }
}

/// From `cursor`, behind the '<', to the '>' that is not inside quotes.
bool XmlReader::find_tag_end() {
  char quote = '\0';
  for (std::size_t i = 0;; ++i) {
    if (i == bytes_.have() && (i >= ByteWindow::capacity || !bytes_.want(i + 1))) {
      cut_off_ = bytes_.exhausted();
      return false;
    }
    const char c = bytes_.cursor[i];
    if (quote != '\0') {
      if (c == quote) quote = '\0';
    } else if (c == '"' || c == '\'') {
      quote = c;
    } else if (c == '>') {
      tag_end_ = bytes_.cursor + i;
      return true;
    } else if (c == '<') {
      return false;
    }
  }
}

XmlReader::Event XmlReader::open_tag() {
  const char* p = bytes_.cursor;
  const char* const after = tag_end_ + 1;
  closing_ = tag_end_ > p && tag_end_[-1] == '/';
  if (closing_) --tag_end_;
  while (p < tag_end_ && !is_space(*p)) ++p;
  const std::string_view word(bytes_.cursor, static_cast<std::size_t>(p - bytes_.cursor));
  if (word.empty() || word.size() > longest_name) return broken("an element has no proper name");
  if (open_.size() >= deepest_element) return broken("elements are nested too deeply");
  attributes_ = p;
  open_.emplace_back(word);
  name_ = local(open_.back());
  bytes_.cursor = after;
  return Event::start;
}

XmlReader::Event XmlReader::close_tag() {
  std::string_view word(bytes_.cursor + 1, static_cast<std::size_t>(tag_end_ - bytes_.cursor - 1));
  while (!word.empty() && is_space(word.back())) word.remove_suffix(1);
  if (open_.empty() || open_.back() != word) return broken("an end tag does not match its start tag");
  name_ = local(open_.back());
  bytes_.cursor = tag_end_ + 1;
  pop_ = true;
  return Event::end;
}

/// Behind "<!": comment, CDATA or document type. `skipped` is false when the bytes end in it.
XmlReader::Event XmlReader::skip_declaration(bool& skipped) {
  bytes_.want(8);
  const std::string_view seen(bytes_.cursor, bytes_.have());
  if (seen.starts_with("!--")) {
    skipped = skip_past("-->");
  } else if (seen.starts_with("![CDATA[")) {
    skipped = skip_past("]]>");
  } else {
    skipped = find_tag_end();
    if (skipped ? std::find(bytes_.cursor, tag_end_, '[') != tag_end_ : !cut_off_)
      return broken("a document type with rules of its own");
    if (skipped) bytes_.cursor = tag_end_ + 1;
  }
  return Event::start;
}

XmlReader::Event XmlReader::next() {
  if (closing_) {
    closing_ = false;
    pop_ = true;
    return Event::end;
  }
  if (pop_) {
    open_.pop_back();
    pop_ = false;
    name_ = {};
  }
  while (true) {
    if (!skip_past("<")) {
      if (open_.empty()) return Event::done;
      cut_off_ = true;
      return broken("it ends inside an element");
    }
    if (!bytes_.want(1)) break;
    bool skipped = true;
    const char c = *bytes_.cursor;
    if (c == '?') {
      skipped = skip_past("?>");
    } else if (c == '!') {
      if (skip_declaration(skipped) == Event::broken) return Event::broken;
    } else if (!find_tag_end()) {
      return broken("a tag is not closed");
    } else {
      return c == '/' ? close_tag() : open_tag();
    }
    if (!skipped) break;
  }
  cut_off_ = true;
  return broken("it ends inside a tag");
}

}  // namespace pourwright::intake
