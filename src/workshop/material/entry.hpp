// SPDX-License-Identifier: GPL-3.0-or-later
// One table of a catalogue file, read key by key. Every key asked for becomes a known key; finish() then
// refuses the others. Mistakes are collected, so a misspelt key is named rather than the gap it leaves.
#pragma once

#include <pourwright/units.hpp>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <toml++/toml.h>

namespace pourwright::material {

/// The document; or the place of its first mistake.
Expected<toml::table> parse_toml(std::string_view text, std::string_view label);

/// "mixes.toml:12:5"
std::string place(std::string_view label, const toml::source_position& at);

/// What a quantity may be, in the words of the message.
template <class T>
struct Range {
  T low, high;
  std::string_view words;    ///< "0.5 to 4 g/mL"
  std::string_view example;  ///< as it would be written: "\"1.86 g/mL\""
};

/// Of a room, wherever one is named.
inline const Range<Temperature> room_range{celsius(0), celsius(50), "0 to 50 °C", "\"17 °C\""};

class Entry {
 public:
  /// `what` is how messages call the table: "[[mix]]".
  Entry(const toml::table& table, std::string_view what, std::string_view label)
      : table_(table), what_(what), label_(label) {}

  bool has(std::string_view key) { return take(key) != nullptr; }
  /// Lower-case words joined by '-' or '.'; required.
  std::string key(std::string_view key);
  std::string text(std::string_view key, std::string fallback, std::size_t longest = 80);
  std::vector<std::string> lines(std::string_view key);
  /// One of `allowed`; its index.
  std::size_t choice(std::string_view key, const std::vector<std::string>& allowed, std::size_t fallback);
  /// A bare decimal number, exact to the millionth. Required.
  Ratio ratio(std::string_view key, const Range<Ratio>& range);
  // Quantities are strings with a unit. Without a fallback they are required.
  Ratio percent(std::string_view key, const Range<Ratio>& range, std::optional<Ratio> fallback = {});
  Density density(std::string_view key, const Range<Density>& range);
  Duration duration(std::string_view key, const Range<Duration>& range,
                    std::optional<Duration> fallback = {});
  Length length(std::string_view key, const Range<Length>& range, std::optional<Length> fallback = {});
  Mass mass(std::string_view key, const Range<Mass>& range, std::optional<Mass> fallback = {});
  Volume volume(std::string_view key, const Range<Volume>& range);
  Temperature temperature(std::string_view key, const Range<Temperature>& range,
                          std::optional<Temperature> fallback = {});
  /// A bare whole number, or a bare number.
  std::int64_t count(std::string_view key, std::int64_t low, std::int64_t high, std::int64_t fallback);
  double number(std::string_view key, double low, double high, double fallback);
  bool flag(std::string_view key, bool fallback);
  /// A text that must be there.
  std::string required(std::string_view key, std::string_view example);
  /// Each element of an array of tables, [[key]]; nothing when the key is absent.
  std::vector<const toml::table*> tables(std::string_view key);
  /// A table, [key]; nothing when the key is absent.
  const toml::table* table(std::string_view key);

  /// Two keys that exclude each other, or any other mistake at `key`.
  void refuse(std::string_view key, std::string text, std::string hint);
  /// The first mistake: an unknown key, else a wrong value, else a missing key.
  std::optional<Problem> finish() const;

 private:
  const toml::node* take(std::string_view key);
  void wrong(const toml::node& node, std::string text, std::string hint);
  void missing(std::string_view key, std::string_view example);
  std::optional<std::string> checked_text(const toml::node& node, std::string_view key, std::size_t longest);
  template <class T>
  T quantity(std::string_view key, Expected<T> (*parse)(std::string_view), const Range<T>& range,
             std::optional<T> fallback);

  const toml::table& table_;
  std::string_view what_, label_;
  std::vector<std::string> known_;
  std::optional<Problem> wrong_, missing_;
};

}  // namespace pourwright::material
