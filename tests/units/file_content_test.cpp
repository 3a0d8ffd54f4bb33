// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/file_content.hpp>

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace std::string_literals;

TEST_CASE("files that are no meshes are called what they are") {
  const std::pair<std::string, std::string_view> cases[] = {
      {"\xFF\xD8\xFF\xE0\0\x10JFIF"s, "a JPEG picture"},
      {"\x89PNG\r\n\x1A\n\0\0\0\rIHDR"s, "a PNG picture"},
      {"GIF89a\1\0\1\0"s, "a GIF picture"},
      {"II*\0\x08\0\0\0"s, "a TIFF picture"},
      {"RIFF\x24\0\0\0WEBPVP8 "s, "a WebP picture"},
      {"\0\0\0\x18"
       "ftypheic"s,
       "a HEIC picture"},
      {"\0\0\0\x18"
       "ftypisom"s,
       "a video"},
      {"%PDF-1.7\n%\xE2\xE3"s, "a PDF document"},
      {"\xEF\xBB\xBF%PDF-1.4"s, "a PDF document"},
      {"{\\rtf1\\ansi"s, "an RTF document"},
      {"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"s, "an office document"},
      {"PK\x03\x04\x14\0"s, "a ZIP archive"},
      {"\x1F\x8B\x08\0"s, "a gzip archive"},
      {"BZh91AY&SY"s, "a bzip2 archive"},
      {"7z\xBC\xAF\x27\x1C"s, "a 7z archive"},
      {std::string(257, 'x') + "ustar\0"s, "a tar archive"},
      {"<!DOCTYPE html><html>"s, "a web page (HTML)"},
      {"\n <!-- saved -->\n<HTML lang=\"en\">"s, "a web page (HTML)"},
      {"<?xml version=\"1.0\"?>\n<svg xmlns=\"\">"s, "an SVG picture"},
      {"ISO-10303-21;\nHEADER;"s, "a STEP file"},
      {"  0\r\nSECTION\r\n"s, "a DXF drawing"},
      {std::string(800, '\0'), "nothing but zero bytes"},
      {std::string(84, '\0'), ""},
      {"BM\x0E\0\0\0\0\0\0\0\x36\0\0\0"s, "a BMP picture"},
      // What is read here, and what only begins alike.
      {"solid cube\nfacet"s, ""},
      {"# a comment\nv 0 0 0\n"s, ""},
      {"ply\nformat ascii 1.0\n"s, ""},
      {"OFF\n8 6 0\n"s, ""},
      {"BMW bonnet badge, binary"s, ""},
      {"MZ is a name too" + std::string(70, ' '), ""},
      {"ID3 of a mold"s, ""},
      {"<?xml version=\"1.0\"?><amf>"s, ""},
      {"title = \"Autumn\"\n"s, ""},
      {"name,grams,count\n"s, ""},
      {""s, ""},
  };
  for (const auto& [bytes, name] : cases) {
    CAPTURE(bytes);
    CHECK(content_name(bytes, bytes.size()) == name);
    if (!name.empty()) CHECK(content_hint(name, "the mesh").find("the mesh") != std::string::npos);
  }
  CHECK(content_hint("a gzip archive", "the mesh").starts_with("unpack it"));
}

TEST_CASE("any bytes of any length are looked at without harm") {
  std::mt19937_64 random(31);
  for (int i = 0; i < 20000; ++i) {
    std::string bytes(random() % 300, '\0');
    for (char& c : bytes) c = static_cast<char>(random());
    if (random() % 3 == 0) bytes = "MZ" + bytes;
    if (random() % 3 == 0) bytes = "BM" + bytes;
    if (random() % 3 == 0) bytes = "<!--" + bytes;
    (void)content_name(bytes, random() % 1000);
  }
}
