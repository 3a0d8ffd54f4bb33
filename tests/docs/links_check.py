#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every relative link in the repository's Markdown files leads to a file that exists, and to a heading in it.

usage: links_check.py ROOT
"""
import pathlib
import re
import subprocess
import sys
import urllib.parse

LINK = re.compile(r"!?\[[^\]]*\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)")
SKIPPED = {".git", "build", "node_modules"}


def markdown_files(root):
    """What git knows or would add; everything but the build folders where there is no git."""
    try:
        listed = subprocess.run(["git", "-C", root, "ls-files", "-co", "--exclude-standard", "-z", "*.md"],
                                check=True, capture_output=True).stdout
        return sorted(p for name in listed.split(b"\0") if name and (p := root / name.decode()).exists())
    except (OSError, subprocess.CalledProcessError):
        return sorted(p for p in root.rglob("*.md") if not SKIPPED & set(p.relative_to(root).parts))


def without_code(text):
    text = re.sub(r"^(```|~~~).*?^\1", "", text, flags=re.M | re.S)
    return re.sub(r"`[^`\n]*`", "", text)


def anchors(path):
    """Headings as the usual renderers name them: lower case, punctuation dropped, blanks to dashes."""
    found = set()
    text = re.sub(r"^(```|~~~).*?^\1", "", path.read_text(encoding="utf-8"), flags=re.M | re.S)
    for heading in re.findall(r"^#{1,6}\s+(.*?)\s*#*$", text, flags=re.M):
        name = re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")
        number, unique = 0, name
        while unique in found:
            number += 1
            unique = f"{name}-{number}"
        found.add(unique)
    return found


def problem_with(link, path):
    if re.match(r"[a-z][a-z0-9+.-]*:", link, flags=re.I):
        return None  # another site; never asked for
    target, _, anchor = urllib.parse.unquote(link).partition("#")
    there = (path.parent / target) if target else path
    if not there.exists():
        return "leads nowhere"
    if anchor and there.suffix == ".md" and anchor not in anchors(there):
        return f"has no heading “{anchor}” to lead to"
    return None


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    files = markdown_files(root)
    bad, links = [], 0
    for path in files:
        for link in LINK.findall(without_code(path.read_text(encoding="utf-8"))):
            links += 1
            if trouble := problem_with(link, path):
                bad.append(f"{path.relative_to(root)}: the link to {link} {trouble}")
    print(*bad, sep="\n", end="\n" if bad else "")
    print(f"{len(files)} Markdown files, {links} links, {len(bad)} bad")
    return 1 if bad or links == 0 else 0


sys.exit(main())
