#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every code that the sources emit is explained, and every code that is explained is emitted.

usage: codes_check.py REPOSITORY | --self-test

Notes and mended kinds are words in the sources; `all_notes()` in src/report/notes.cpp explains them. Problems are
enumerators of `Code`; the table in src/units/problem.cpp explains them. `pourwright explain` prints both.
"""
import re
import sys
from pathlib import Path

CODE = r'"([a-z0-9]+(?:-[a-z0-9]+)*)"'
# What stands before a code where it is emitted: a note or a mended kind built in braces, a call that adds one.
EMITS = re.compile(r'(?:(?:notes|mended)\w*\.(?:push_back|emplace_back)\( ?\{|\bNote ?\{|\bnote\([^"();]*,|\.step\(|\bcode = ) ?' + CODE)
COMPARED = re.compile(r'\bcode [!=]= ' + CODE)
ANY = re.compile(r'(?<![!=]= )' + CODE)
LISTED = re.compile(r'NoteInfo\{\s*' + CODE)
# A code of problems that has become a note's: the word stays explained, and the enumerator goes when its header is next touched.
RETIRED = {"step_too_coarse"}
ENUM = re.compile(r'enum class Code : \S+ \{(.*?)\};', re.S)


def without_comments(text):
    """The code alone, with every run of white space as one blank."""
    return re.sub(r"\s+", " ", re.sub(r'//[^\n]*|/\*.*?\*/', "", text, flags=re.S))


def faults(sources, listed_in, enum_in):
    """sources: text by path; the other two: the paths of the tables."""
    texts = {path: without_comments(text) for path, text in sources.items()}
    listed = LISTED.findall(texts[listed_in])
    codes = re.findall(r"\w+", ENUM.search(texts[enum_in]).group(1))
    assert listed and codes, "a table is not where it was"
    emitted, spoken, used = {}, set(), set()
    for path, text in texts.items():
        if path == listed_in:
            continue
        for code in EMITS.findall(text) + COMPARED.findall(text):
            emitted.setdefault(code, path)
        spoken |= set(ANY.findall(text))
        if path not in (enum_in, "src/units/problem.cpp"):
            used |= set(re.findall(r"\bCode::(\w+)", text))
    out = [f"{path}: “{code}” is explained nowhere" for code, path in sorted(emitted.items()) if code not in listed]
    out += [f"{listed_in}: “{code}” is explained but never emitted" for code in listed if code not in spoken]
    out += [f"{enum_in}: Code::{code} never happens" for code in codes if code not in used | RETIRED]
    out += [f"{enum_in}: Code::{code} is called retired but happens" for code in codes if code in used & RETIRED]
    return out


def self_test():
    good = {"notes": 'NoteInfo{"cracks", "x"}, NoteInfo{"mended", "x"}', "enum": "enum class Code : int { gone, torn };",
            "a": 'w.step("cracks"); notes.push_back({"mended", "y"}); fail(Code::gone); fail(Code::torn);'}
    assert faults(good, "notes", "enum") == []
    for path, old, new in (("notes", '"mended"', '"other"'), ("a", 'step("cracks")', 'step("splits")'), ("a", "Code::torn", "Code::gone"),
                           ("a", 'notes.push_back({"mended"', 'n.code != "mended" && ({""'), ("a", "fail(Code::gone)", 'note(out.notes, "new", "")')):
        assert old in good[path]
        assert faults({**good, path: good[path].replace(old, new)}, "notes", "enum"), (path, new)


def main():
    if sys.argv[1:] == ["--self-test"]:
        return self_test()
    root = Path(sys.argv[1])
    files = sorted(p for folder in ("src", "include") for p in (root / folder).rglob("*.[ch]pp"))
    found = faults({str(p.relative_to(root)): p.read_text(encoding="utf-8") for p in files}, "src/report/notes.cpp",
                   "include/pourwright/problem.hpp")
    print("\n".join(found) or "every code is emitted and explained")
    return 1 if found else 0


sys.exit(main())
