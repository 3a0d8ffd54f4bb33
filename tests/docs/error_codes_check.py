#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""docs/error_codes.md says what the program says.

usage: error_codes_check.py PROGRAM FILE [--write]
"""
import difflib
import pathlib
import subprocess
import sys

HEAD = """# Codes of errors and notes

An error's message ends with its code in square brackets, and JSON carries it in `error.code`; a note has its own in
`notes[].code`. Codes are never renamed. `pourwright explain CODE` shows the same text. Errors come first, in the order of
the work, then notes.

This page is made from the program's own table and a test compares the two; to renew it:

    python3 tests/docs/error_codes_check.py build/release/pourwright docs/error_codes.md --write

The exit status of an error is in the [manual](manual.md#exit-codes).
"""


def said(program, *words):
    return subprocess.run([program, "explain", *words], check=True, capture_output=True, text=True, timeout=60).stdout


def page(program):
    out = HEAD
    for code in said(program).split():
        title, _, text = said(program, code).partition("\n\n")
        assert title == code, (title, code)
        out += f"\n## {code}\n\n{text.strip()}\n"
    return out


def main():
    program, file = sys.argv[1], pathlib.Path(sys.argv[2])
    wanted = page(program)
    if "--write" in sys.argv[3:]:
        file.write_text(wanted, encoding="utf-8")
        return 0
    there = file.read_text(encoding="utf-8")
    sys.stdout.writelines(difflib.unified_diff(there.splitlines(True), wanted.splitlines(True), str(file), "the program"))
    return 0 if there == wanted else 1


sys.exit(main())
