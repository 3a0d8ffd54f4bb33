# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads .xlsx files and reckons their formulas anew: the part of ECMA-376 that price lists and cards use."""
import math
import re
import zipfile
from decimal import ROUND_CEILING, ROUND_DOWN, ROUND_HALF_UP, Decimal
from xml.etree import ElementTree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
TOKEN = re.compile(r"\s*(?:(?P<number>\d+\.?\d*(?:[eE][-+]?\d+)?)|(?P<text>\"[^\"]*\")|(?P<cell>(?:\w+!)?\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)"
                   r"|(?P<name>[A-Z]+)(?=\()|(?P<sign><>|<=|>=|[-+*/(),<>=&]))")


def column(letters):
    n = 0
    for c in letters:
        n = 26 * n + ord(c) - 64
    return n


class Book:
    """Cells by (sheet, column, row): what was written into them, and what their formulas give now."""

    def __init__(self, path):
        self.written, self.formulas, self.reckoned, self.names = {}, {}, {}, []
        with zipfile.ZipFile(path) as archive:
            assert archive.testzip() is None
            self.shared = []
            if "xl/sharedStrings.xml" in archive.namelist():
                self.shared = ["".join(t.text or "" for t in si.iter(MAIN + "t"))
                               for si in ElementTree.fromstring(archive.read("xl/sharedStrings.xml")).iter(MAIN + "si")]
            relations = {r.get("Id"): r.get("Target") for r in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))}
            for sheet in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter(MAIN + "sheet"):
                self.names.append(sheet.get("name"))
                self._read(sheet.get("name"), ElementTree.fromstring(archive.read("xl/" + relations[sheet.get(RELATION)])))

    def _read(self, name, root):
        for cell in root.iter(MAIN + "c"):
            letters, row = re.fullmatch(r"([A-Z]+)(\d+)", cell.get("r")).groups()
            place = (name, column(letters), int(row))
            if cell.get("t") == "inlineStr":
                self.written[place] = "".join(t.text or "" for t in cell.iter(MAIN + "t"))
                continue
            value = cell.find(MAIN + "v")
            if cell.get("t") == "s":
                self.written[place] = self.shared[int(value.text)]
            elif value is not None:
                self.written[place] = (value.text or "") if cell.get("t") == "str" else float(value.text)
            if cell.find(MAIN + "f") is not None:
                self.formulas[place] = cell.find(MAIN + "f").text

    def rows(self, sheet):
        places = [p for p in self.written if p[0] == sheet]
        return [[self.value((sheet, c, r)) for c in range(1, max(p[1] for p in places) + 1)] for r in range(1, max(p[2] for p in places) + 1)]

    def value(self, place):
        if place not in self.formulas:
            return self.written.get(place)
        if place not in self.reckoned:
            self.reckoned[place] = Formula(self, place[0], self.formulas[place]).value()
        return self.reckoned[place]

    def change(self, sheet, name, value):
        """A number typed into a cell, like Terms B4."""
        letters, row = re.fullmatch(r"([A-Z]+)(\d+)", name).groups()
        assert isinstance(self.written[(sheet, column(letters), int(row))], float)
        self.written[(sheet, column(letters), int(row))] = value
        self.reckoned.clear()


def rounded(x, digits, rule):
    return x if math.isnan(x) else float(Decimal(repr(x)).quantize(Decimal(1).scaleb(-int(digits)), rounding=rule))


class Formula:
    def __init__(self, book, sheet, text):
        self.book, self.sheet, self.tokens, self.at = book, sheet, [], 0
        end = 0
        while end < len(text):
            token = TOKEN.match(text, end)
            assert token, f"no formula: {text[end:]}"
            self.tokens.append((token.lastgroup, token.group(token.lastgroup)))
            end = token.end()

    def value(self):
        result = self._comparison()
        assert self.at == len(self.tokens)
        return result

    def _next(self, *signs):
        if self.at < len(self.tokens) and self.tokens[self.at][0] == "sign" and self.tokens[self.at][1] in signs:
            self.at += 1
            return self.tokens[self.at - 1][1]
        return None

    def _comparison(self):
        left = self._sum()
        sign = self._next("=", "<>", "<", ">", "<=", ">=")
        if not sign:
            return left
        right = self._sum()
        return {"=": left == right, "<>": left != right, "<": left < right, ">": left > right, "<=": left <= right, ">=": left >= right}[sign]

    def _sum(self):
        left = self._product()
        while sign := self._next("+", "-"):
            right = self._product()
            left = left + right if sign == "+" else left - right
        return left

    def _product(self):
        left = self._atom()
        while sign := self._next("*", "/"):
            right = self._atom()
            left = left * right if sign == "*" else left / right if right else math.nan
        return left

    def _atom(self):
        if self._next("-"):
            return -self._atom()
        if self._next("("):
            inner = self._comparison()
            assert self._next(")")
            return inner
        kind, text = self.tokens[self.at]
        self.at += 1
        if kind == "number":
            return float(text)
        if kind == "text":
            return text[1:-1]
        if kind == "cell":
            return self._cells(text)
        assert kind == "name", text
        assert self._next("(")
        arguments = [self._comparison()]
        while self._next(","):
            arguments.append(self._comparison())
        assert self._next(")")
        return self._call(text, arguments)

    def _cells(self, text):
        sheet, _, cells = text.rpartition("!")
        corners = [re.fullmatch(r"([A-Z]+)(\d+)", c).groups() for c in cells.replace("$", "").split(":")]
        (a, top), (b, bottom) = corners[0], corners[-1]
        values = [self.book.value((sheet or self.sheet, c, r)) for r in range(int(top), int(bottom) + 1) for c in range(column(a), column(b) + 1)]
        return values if ":" in text else (0.0 if values[0] is None else values[0])

    @staticmethod
    def _call(name, a):
        if name == "IF":
            return a[1] if a[0] else a[2]
        if name == "AND":
            return all(a)
        if name == "SUM":
            return math.fsum(x for part in a for x in (part if isinstance(part, list) else [part]) if isinstance(x, float))
        if name == "SUMPRODUCT":
            return math.fsum(x * y for x, y in zip(*a))
        if name in ("MIN", "MAX"):
            return (min if name == "MIN" else max)(a)
        if name == "MOD":
            return a[0] - a[1] * math.floor(a[0] / a[1])
        rule = {"ROUND": ROUND_HALF_UP, "ROUNDUP": ROUND_CEILING, "ROUNDDOWN": ROUND_DOWN}[name]
        return rounded(a[0], a[1], rule)
