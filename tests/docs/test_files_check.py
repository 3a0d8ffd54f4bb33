#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every source file has a test file of its name, or stands in the table of docs/tests.md with those that hold it.

usage: test_files_check.py REPOSITORY | --self-test
"""
import re
import sys
from pathlib import Path

ROW = re.compile(r"^\| *([\w/]*) *\| *([\w ]+?) *\| *([\w/. ]+?) *\|$", re.M)


def faults(page, sources, tests):
    """sources and tests: names as docs/tests.md writes them, sources without their ending."""
    out, held = [], {}
    for folder, files, by in ROW.findall(page):
        for test in by.split():
            if test not in tests:
                out.append(f"tests/{test} is named, but is not there")
        for name in files.split():
            source = f"{folder}/{name}" if folder else name
            if source in held:
                out.append(f"src/{source}.cpp is named twice")
            held[source] = by
    for source in sorted(sources | set(held)):
        own = f"{source}_test.cpp" in tests
        if source not in sources:
            out.append(f"src/{source}.cpp is named, but is not there")
        elif own and source in held:
            out.append(f"src/{source}.cpp has tests/{source}_test.cpp; its line can go")
        elif not own and source not in held:
            out.append(f"src/{source}.cpp: no tests/{source}_test.cpp and no line in docs/tests.md")
    return out


def self_test():
    page = "| a | x y | a/z_test.cpp |\n"
    sources, tests = {"a/x", "a/y", "a/w"}, {"a/z_test.cpp", "a/w_test.cpp"}
    assert faults(page, sources, tests) == []
    assert faults(page, sources | {"b/new"}, tests)
    assert faults(page, sources - {"a/x"}, tests)
    assert faults(page, sources, tests - {"a/z_test.cpp"})
    assert faults(page, sources, tests | {"a/x_test.cpp"})
    assert faults(page * 2, sources, tests)


def main():
    if sys.argv[1:] == ["--self-test"]:
        return self_test()
    root = Path(sys.argv[1])

    def names(folder, endings):
        return {str(p.relative_to(root / folder)) for e in endings for p in (root / folder).rglob(f"*{e}")}
    sources = {n.removesuffix(".cpp") for n in names("src", [".cpp"])}
    assert len(sources) > 100, "the sources are not where they were"
    found = faults((root / "docs/tests.md").read_text(encoding="utf-8"), sources, names("tests", [".cpp", ".py"]))
    print("\n".join(found) or f"{len(sources)} source files are held by tests")
    return 1 if found else 0


sys.exit(main())
