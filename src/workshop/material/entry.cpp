// SPDX-License-Identifier: GPL-3.0-or-later
// Keys of one TOML table as quantities. The law: every key is read or refused, with line, column and the
// nearest known.
#include "workshop/material/entry.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::material {
namespace {

// Names end up on cards and terminals, so no control characters: they could hide or rewrite other lines.
bool printable(std::string_view s) {
  return std::none_of(s.begin(), s.end(), [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return u < 0x20 || u == 0x7f;
  });
}

bool is_key(std::string_view s) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  if (s.empty() || !letter(s.front()) || !letter(s.back())) return false;
  return std::all_of(s.begin(), s.end(), [&](char c) { return letter(c) || c == '-' || c == '.'; });
}

// A key of thousands of dotted parts makes tables nested as deep, and the parser's own clean-up recurses
// through them until the stack ends. Keys cannot span lines and values nest at most 256 deep, so counting
// dots per line bounds the depth.
std::optional<Problem> refuse_deep_keys(std::string_view text, std::string_view label) {
  constexpr std::size_t most = 60;
  std::size_t line = 1, dots = 0;
  for (const char c : text) {
    if (c == '\n') {
      ++line;
      dots = 0;
    } else if (c == '.' && ++dots > most) {
      return fail(Code::config_syntax, fmt::format("{}:{}: more than {} dots in one line", label, line, most),
                  "no catalogue needs that; delete the line");
    }
  }
  return std::nullopt;
}

/// "labor" for "labour", "mould" for "mold": the keys of this program are spelt one way, people are not.
std::string other_spelling(std::string_view key) {
  constexpr std::pair<std::string_view, std::string_view> spellings[] = {
      {"colour", "color"}, {"labour", "labor"}, {"fibre", "fiber"}, {"mold", "mould"}};
  std::string out(key);
  for (const auto& [here, there] : spellings)
    if (const auto at = out.find(here); at != std::string::npos) out.replace(at, here.size(), there);
  return out;
}

}  // namespace

Expected<toml::table> parse_toml(std::string_view text, std::string_view label) {
  if (auto problem = refuse_deep_keys(text, label)) return *problem;
  try {
    return toml::parse(text);
  } catch (const toml::parse_error& error) {
    return fail(Code::config_syntax,
                fmt::format("{}: {}", place(label, error.source().begin), error.description()),
                "the mistake is there or on the line above");
  }
}

std::string place(std::string_view label, const toml::source_position& at) {
  return fmt::format("{}:{}:{}", label, at.line, at.column);
}

const toml::node* Entry::take(std::string_view key) {
  const auto know = [&](std::string_view k) {
    if (std::find(known_.begin(), known_.end(), k) == known_.end()) known_.emplace_back(k);
  };
  know(key);
  if (const toml::node* node = table_.get(key)) return node;
  // Spelt as on the other side of the ocean; who writes both spellings is told of the second.
  const std::string other = other_spelling(key);
  const toml::node* node = other == key ? nullptr : table_.get(other);
  if (node != nullptr) know(other);
  return node;
}

void Entry::wrong(const toml::node& node, std::string text, std::string hint) {
  if (!wrong_)
    wrong_ =
        fail(Code::config_bad_value,
             fmt::format("{}: {}", place(label_, node.source().begin), std::move(text)), std::move(hint));
}

void Entry::refuse(std::string_view key, std::string text, std::string hint) {
  const toml::node* node = take(key);
  wrong(node != nullptr ? *node : static_cast<const toml::node&>(table_), std::move(text), std::move(hint));
}

void Entry::missing(std::string_view key, std::string_view example) {
  if (!missing_)
    missing_ = fail(Code::config_bad_value,
                    fmt::format("{}: {} has no “{}”", place(label_, table_.source().begin), what_, key),
                    fmt::format("add a line like {} = {}", key, example));
}

std::optional<std::string> Entry::checked_text(const toml::node& node, std::string_view key,
                                               std::size_t longest) {
  const auto value = node.value_exact<std::string>();
  if (!value) {
    wrong(node, fmt::format("“{}” is not a text", key), "put it in double quotes");
  } else if (value->empty() || value->size() > longest || !printable(*value)) {
    wrong(node, fmt::format("“{}” is not a text of 1 to {} printable characters", key, longest),
          "shorten it and keep it on one line");
  } else {
    return value;
  }
  return std::nullopt;
}

std::string Entry::text(std::string_view key, std::string fallback, std::size_t longest) {
  const toml::node* node = take(key);
  if (node == nullptr) return fallback;
  return checked_text(*node, key, longest).value_or(std::move(fallback));
}

std::string Entry::key(std::string_view key) {
  const toml::node* node = take(key);
  if (node == nullptr) {
    missing(key, "\"my-mix\"");
    return {};
  }
  const auto value = checked_text(*node, key, 80);
  if (value && !is_key(*value)) {
    wrong(*node, fmt::format("“{}” is not a key", *value),
          "keys are lower-case letters a to z and digits, joined by - or .");
  }
  return value.value_or("");
}

std::vector<std::string> Entry::lines(std::string_view key) {
  const toml::node* node = take(key);
  std::vector<std::string> out;
  if (node == nullptr) return out;
  const toml::array* array = node->as_array();
  if (array == nullptr || array->size() > 20) {
    wrong(*node, fmt::format("“{}” is not a list of up to 20 sentences", key),
          "write it like [\"One sentence.\", \"Another.\"]");
    return out;
  }
  for (const toml::node& element : *array)
    if (auto line = checked_text(element, key, 300)) out.push_back(std::move(*line));
  return out;
}

std::size_t Entry::choice(std::string_view key, const std::vector<std::string>& allowed,
                          std::size_t fallback) {
  const toml::node* node = take(key);
  if (node == nullptr) return fallback;
  const auto value = checked_text(*node, key, 80);
  if (!value) return fallback;
  const auto it = std::find(allowed.begin(), allowed.end(), *value);
  if (it != allowed.end()) return static_cast<std::size_t>(it - allowed.begin());
  wrong(*node, fmt::format("“{}” cannot be “{}”", key, *value),
        fmt::format("write one of \"{}\"", fmt::join(allowed, "\" or \"")));
  return fallback;
}

// A TOML number is a double here; the nearest millionth to it is the decimal that was written.
Ratio Entry::ratio(std::string_view key, const Range<Ratio>& range) {
  const toml::node* node = take(key);
  if (node == nullptr) {
    missing(key, range.example);
    return range.low;
  }
  const auto value = node->is_number() ? node->value<double>() : std::nullopt;
  if (!value) {
    wrong(*node, fmt::format("“{}” is not a number", key),
          fmt::format("write it without quotes, like {} = {}", key, range.example));
  } else if (!(*value >= range.low.value() && *value <= range.high.value())) {  // refuses nan as well
    wrong(*node, fmt::format("“{}” is {}, outside {}", key, *value, range.words),
          fmt::format("write it like {} = {}", key, range.example));
  } else {
    return Ratio::of(*value);
  }
  return range.low;
}

template <class T>
T Entry::quantity(std::string_view key, Expected<T> (*parse)(std::string_view), const Range<T>& range,
                  std::optional<T> fallback) {
  const toml::node* node = take(key);
  if (node == nullptr) {
    if (!fallback) missing(key, range.example);
    return fallback.value_or(range.low);
  }
  const std::string hint =
      fmt::format("write it with its unit and in quotes, like {} = {}", key, range.example);
  const auto value = node->value_exact<std::string>();
  const bool has_unit = value && !value->empty() &&
                        std::string_view("0123456789., \t").find(value->back()) == std::string::npos;
  const auto parsed = has_unit ? parse(*value) : Expected<T>(fail(Code::bad_quantity, ""));
  if (!parsed) {
    const std::string detail = parsed.error().text.empty() ? "" : ": " + parsed.error().text;
    wrong(*node, fmt::format("“{}” is not a quantity with a unit{}", key, detail), hint);
  } else if (*parsed < range.low || *parsed > range.high) {
    wrong(*node, fmt::format("“{}” is {}, outside {}", key, *value, range.words), hint);
  } else {
    return *parsed;
  }
  return range.low;
}

Ratio Entry::percent(std::string_view key, const Range<Ratio>& range, std::optional<Ratio> fallback) {
  return quantity(key, parse_percent, range, fallback);
}
Density Entry::density(std::string_view key, const Range<Density>& range) {
  return quantity<Density>(key, parse_density, range, {});
}
Length Entry::length(std::string_view key, const Range<Length>& range, std::optional<Length> fallback) {
  return quantity(key, parse_length, range, fallback);
}

Duration Entry::duration(std::string_view key, const Range<Duration>& range,
                         std::optional<Duration> fallback) {
  return quantity(key, parse_duration, range, fallback);
}
Mass Entry::mass(std::string_view key, const Range<Mass>& range, std::optional<Mass> fallback) {
  return quantity<Mass>(key, parse_mass, range, fallback);
}
Volume Entry::volume(std::string_view key, const Range<Volume>& range) {
  return quantity<Volume>(key, parse_volume, range, {});
}
Temperature Entry::temperature(std::string_view key, const Range<Temperature>& range,
                               std::optional<Temperature> fallback) {
  return quantity<Temperature>(key, parse_temperature, range, fallback);
}

std::int64_t Entry::count(std::string_view key, std::int64_t low, std::int64_t high, std::int64_t fallback) {
  const toml::node* node = take(key);
  if (node == nullptr) return fallback;
  const auto value = node->value_exact<std::int64_t>();
  if (value && *value >= low && *value <= high) return *value;
  wrong(*node, fmt::format("“{}” is not a whole number from {} to {}", key, low, high),
        fmt::format("write it without quotes, like {} = {}", key, std::max<std::int64_t>(1, low)));
  return fallback;
}

double Entry::number(std::string_view key, double low, double high, double fallback) {
  const toml::node* node = take(key);
  if (node == nullptr) return fallback;
  const auto value = node->is_number() ? node->value<double>() : std::nullopt;
  if (value && *value >= low && *value <= high) return *value;
  wrong(*node, fmt::format("“{}” is not a number from {} to {}", key, low, high),
        fmt::format("write it without quotes, like {} = {}", key, fallback));
  return fallback;
}

bool Entry::flag(std::string_view key, bool fallback) {
  const toml::node* node = take(key);
  if (node == nullptr) return fallback;
  const auto value = node->value_exact<bool>();
  if (!value) wrong(*node, fmt::format("“{}” is neither true nor false", key), "write it without quotes");
  return value.value_or(fallback);
}

std::string Entry::required(std::string_view key, std::string_view example) {
  if (take(key) == nullptr) missing(key, example);
  return text(key, "");
}

const toml::table* Entry::table(std::string_view key) {
  const toml::node* node = take(key);
  if (node == nullptr) return nullptr;
  if (node->as_table() == nullptr)
    wrong(*node, fmt::format("“{}” is not a table", key), fmt::format("begin it with a line [{}]", key));
  return node->as_table();
}

std::vector<const toml::table*> Entry::tables(std::string_view key) {
  const toml::node* node = take(key);
  std::vector<const toml::table*> out;
  if (node == nullptr) return out;
  const toml::array* array = node->as_array();
  if (array == nullptr) {
    wrong(*node, fmt::format("“{}” is not a list of tables", key),
          fmt::format("begin each entry with a line [[{}]]", key));
    return out;
  }
  for (const toml::node& element : *array) {
    if (element.as_table() == nullptr) {
      wrong(element, fmt::format("“{}” holds something that is not a table", key),
            fmt::format("begin each entry with a line [[{}]]", key));
      break;
    }
    out.push_back(element.as_table());
  }
  return out;
}

std::optional<Problem> Entry::finish() const {
  const toml::key* unknown = nullptr;
  for (auto&& [key, value] : table_) {
    if (std::find(known_.begin(), known_.end(), key.str()) != known_.end()) continue;
    // The table is sorted by name; people look for the first mistake in the file.
    if (unknown == nullptr || key.source().begin < unknown->source().begin) unknown = &key;
  }
  if (unknown == nullptr) return wrong_ ? wrong_ : missing_;
  const std::string_view nearest = nearest_name(unknown->str(), known_);
  return fail(
      Code::config_unknown_key,
      fmt::format("{}: {} knows no “{}”", place(label_, unknown->source().begin), what_, unknown->str()),
      nearest.empty() ? fmt::format("the keys are {}", fmt::join(known_, ", "))
                      : fmt::format("did you mean “{}”?", nearest));
}

}  // namespace pourwright::material
