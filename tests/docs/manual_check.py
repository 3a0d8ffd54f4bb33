#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the pages show is what the program does.

  * Every `pourwright …` line in an `sh` block runs and ends with exit code 0.
  * A `console` block in any page holds commands after "$ " and what they print. The text must be the same; a line "…"
    leaves out the rest. "# exit N" behind a command names another exit code than 0.
  * The manual names every option of every command, and none that does not exist.

usage: manual_check.py PROGRAM ROOT [--write]     --write renews the text of the console blocks
"""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

PROGRAM, ROOT = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
WRITE = "--write" in sys.argv[3:]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", flags=re.M | re.S)
NAMES = ("pourwright", "tools/pour")
failures = []
ran = 0


def run(words, folder):
    """Exit code and what a terminal of 80 columns would show."""
    global ran
    ran += 1
    # 12 October 2026, 9:30 UTC: what is recorded carries a date.
    environment = {"PATH": os.environ["PATH"], "HOME": f"{folder}/home", "LC_ALL": "C.UTF-8",
                   "SOURCE_DATE_EPOCH": "1791797400"}
    done = subprocess.run([PROGRAM, *words], cwd=folder, env=environment, stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=300)
    return done.returncode, done.stdout.decode()


def split(line):
    """Words of the command and the exit code it should have; what follows ">" is left out."""
    code = re.search(r"#\s*exit (\d+)\s*$", line)
    words = shlex.split(line, comments=True)
    if ">" in words:
        words = words[:words.index(">")]
    return words, int(code[1]) if code else 0


def check_sh(where, text, folder):
    for line in text.replace("\\\n", " ").splitlines():
        words, code = split(line)
        if not words or words[0] != "pourwright":
            continue
        got, said = run(words[1:], folder)
        if got != code:
            failures.append(f"{where}: {line}\n  ended with {got}, not {code}:\n{said}")


def check_console(where, text, folder):
    """Returns the block as it should be."""
    out = []
    for part in re.split(r"^(?=\$ )", text, flags=re.M):
        line, _, shown = part.partition("\n")
        words, code = split(line[2:])
        if not line.startswith("$ ") or not words or words[0] not in NAMES:
            out.append(part)
            continue
        got, said = run(words[1:], folder)
        said = "".join(s.rstrip() + "\n" for s in said.splitlines())
        shown_lines = shown.splitlines()
        if "…" in shown_lines:
            kept = shown_lines.index("…")
            said = "".join(said.splitlines(True)[:kept]) + "…\n"
        blank = "\n" if shown.endswith("\n\n") and not said.endswith("\n\n") else ""
        if got != code:
            failures.append(f"{where}: {line}\n  ended with {got}, not {code}")
        elif said.rstrip() != shown.rstrip() and not WRITE:
            failures.append(f"{where}: {line}\n  prints\n{said}")
        out.append(line + "\n" + said + blank)
    return "".join(out)


def options_of(command, folder):
    code, said = run([command, "--help"] if command else ["--help"], folder)
    assert code == 0, said
    return said


def check_options(manual, folder):
    overview = options_of("", folder)
    commands = re.findall(r"^  ([a-z]+) +\S.*$", overview, flags=re.M)
    commands = [c for c in commands if c != "pourwright"]
    assert len(commands) >= 5, overview
    known = set()
    for command in commands:
        if f"## {command}" not in manual:
            failures.append(f"docs/manual.md has no section on {command}")
        known |= set(re.findall(r"^  (--[a-z-]+)", options_of(command, folder), flags=re.M))
    # What the program itself prints may quote a misspelt option.
    prose = re.sub(r"^```console\n.*?^```$", "", manual, flags=re.M | re.S)
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", prose))
    for option in sorted(known - named):
        failures.append(f"docs/manual.md does not mention {option}")
    for option in sorted(named - known - {"--color"}):
        failures.append(f"docs/manual.md mentions {option}, which no command takes")


def main():
    with tempfile.TemporaryDirectory() as folder:
        # Examples name files as seen from the repository, but must not be able to write there.
        for name in ("meshes", "docs"):
            (pathlib.Path(folder) / name).symlink_to(ROOT / name)
        pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
        for page in pages:
            text, where = page.read_text(encoding="utf-8"), page.relative_to(ROOT)
            # A workshop that a page may record in, from one block to the next.
            shutil.rmtree(f"{folder}/shop", ignore_errors=True)
            shutil.copytree(ROOT / "docs/examples/tern", f"{folder}/shop")
            if str(where) == "docs/manual.md":
                check_options(text, folder)

            def renewed(block):
                # What one block records at home is not there for the next.
                shutil.rmtree(f"{folder}/home", ignore_errors=True)
                if block[1] == "sh":
                    check_sh(where, block[2], folder)
                if block[1] == "console":
                    return f"```console\n{check_console(where, block[2], folder)}```"
                return block[0]

            new = BLOCK.sub(renewed, text)
            if WRITE and new != text:
                page.write_text(new, encoding="utf-8")
    print(*failures, sep="\n", end="\n" if failures else "")
    if failures:
        print("If what the program does now is right: python3 tests/docs/manual_check.py PROGRAM . --write")
    print(f"{ran} runs, {len(failures)} failures")
    return 1 if failures or ran < 20 else 0


sys.exit(main())
