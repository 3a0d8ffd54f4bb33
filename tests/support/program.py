# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs of the built program, and its JSON read strictly and checked against docs/schema."""
import json
import os
import subprocess
import sys
import unittest
from decimal import Decimal
from pathlib import Path

from support import checks

try:
    from jsonschema import Draft202012Validator
except ImportError:
    sys.exit("these tests need jsonschema 4.x: apt-get install python3-jsonschema")

ROOT = Path(__file__).resolve().parents[2]
SCHEMAS = ROOT / "docs" / "schema"
OPEN_SET = ROOT.parent / "shared" / "meshes"
SKIPPED = 77  # what ctest is told means "skipped"


class Run:
    def __init__(self, done, arguments):
        self.arguments, self.code = arguments, done.returncode
        self.raw_out, self.raw_err = done.stdout or b"", done.stderr or b""
        self.out = self.raw_out.decode("utf-8", "replace")
        self.err = self.raw_err.decode("utf-8", "replace")

    def __str__(self):
        return f"{self.arguments} gave exit code {self.code}\n--- stdout\n{self.out}--- stderr\n{self.err}"


class Program:
    """The program under test. Its surroundings are fixed: nothing of the caller's locale, colours or width gets in."""

    def __init__(self, path):
        self.path = os.path.abspath(path)

    def run(self, *arguments, cwd=None, env=None, timeout=900, stdout=subprocess.PIPE):
        # No workshop is remembered but where a test says so, and none can be by accident.
        surroundings = {"LC_ALL": "C.UTF-8", "PATH": os.environ["PATH"], "XDG_CONFIG_HOME": os.devnull, **(env or {})}
        # What a sanitizer build needs to report leaks, and where.
        surroundings.update({k: v for k, v in os.environ.items() if k.endswith("SAN_OPTIONS")})
        done = subprocess.run([self.path, *arguments], cwd=cwd, env=surroundings, timeout=timeout, stdin=subprocess.DEVNULL,
                              stdout=stdout, stderr=subprocess.PIPE, check=False)
        run = Run(done, arguments)
        if run.code < 0:
            raise AssertionError(f"killed by signal {-run.code}: {run}")
        if run.code == 70 or b"Sanitizer" in run.raw_err or b"runtime error:" in run.raw_err:
            raise AssertionError(f"our own bug: {run}")
        return run


def strict_json(raw):
    """Exactly one document: UTF-8, no NaN or Infinity, no key twice, one line break at the end. Numbers stay decimal."""
    text = raw.decode("utf-8")
    if not text.endswith("\n") or text.endswith("\n\n"):
        raise AssertionError("a document ends with one line break")

    def refuse(word):
        raise AssertionError(f"{word} is no JSON number")

    def pairs(items):
        if len(dict(items)) != len(items):
            raise AssertionError(f"a key twice in {[k for k, _ in items]}")
        return dict(items)

    return json.loads(text, parse_float=Decimal, parse_constant=refuse, object_pairs_hook=pairs)


_validators = {}


def validator(name):
    if name not in _validators:
        schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
        Draft202012Validator.check_schema(schema)
        _validators[name] = Draft202012Validator(schema)
    return _validators[name]


def schema_errors(document):
    """What is wrong with a document, by the schema it names; an empty list when it keeps it."""
    name, _, version = document.get("schema", "").removeprefix("pourwright.").partition("/")
    if version != "1" or not (SCHEMAS / f"{name}.schema.json").is_file():
        return [f"no schema called {document.get('schema')!r}"]
    return [f"{'/'.join(map(str, e.absolute_path))}: {e.message[:300]}" for e in validator(name).iter_errors(document)]


class ProgramTest(unittest.TestCase):
    """Base of the tests that run the program; `main` below sets it."""
    program = None
    maxDiff = None

    def document(self, run, schema=None):
        """The one document on standard output, proved to keep its schema."""
        try:
            document = strict_json(run.raw_out)
        except (AssertionError, ValueError) as e:
            self.fail(f"{e}: {run}")
        self.assertEqual(schema_errors(document), [], str(run))
        checks.kinds(self, document)
        if schema:
            self.assertEqual(document["schema"], f"pourwright.{schema}/1", str(run))
        return document

    def json(self, *arguments, code=0, schema=None, **how):
        run = self.program.run(*arguments, "--json", **how)
        self.assertEqual(run.code, code, str(run))
        return self.document(run, schema)


def main():
    """usage: TEST.py PROGRAM [unittest arguments]"""
    if len(sys.argv) < 2 or not os.access(sys.argv[1], os.X_OK):
        sys.exit("the first argument is the program to test")
    ProgramTest.program = Program(sys.argv.pop(1))
    unittest.main(module="__main__")
