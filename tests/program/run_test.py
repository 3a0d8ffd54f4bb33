#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Production runs and price lists through the program: documents, sums, limits, published instances, exit codes."""
import csv
import random
import re
import sys
import tempfile
import unittest
import zipfile
from collections import Counter
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import checks
from support.program import ROOT, ProgramTest, main
from support.spreadsheet import Book

AUTUMN = ROOT / "docs/examples/autumn/run.toml"


class Runs(ProgramTest):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="pourwright-run-")
        self.addCleanup(folder.cleanup)
        self.folder = Path(folder.name)

    def table(self, rows, name="pieces.csv", separator=",", header=True):
        path = self.folder / name
        lines = [separator.join(map(str, r)) for r in rows]
        path.write_text("\n".join((["name" + separator + "grams" + separator + "count"] if header else []) + lines) + "\n", encoding="utf-8")
        return str(path)

    def checked(self, document, most):
        self.assertEqual(document["batch_count"], len(document["batches"]))
        self.assertLessEqual(document["lower_bound"], document["batch_count"])
        self.assertEqual(document["proven"], document["lower_bound"] == document["batch_count"])
        made, used = Counter(), Counter()
        for i, b in enumerate(document["batches"]):
            self.assertEqual(b["id"], i + 1)
            self.assertLessEqual(checks.number(b["mix_g"]), Decimal(most))
            checks.sums(self, b["parts"], b["mix_g"], "parts")
            if b["cups"]:
                checks.sums(self, b["cups"], b["mix_g"], "cups")
            poured = 0
            for p in b["pieces"]:
                self.assertEqual(checks.number(p["g"]) * p["count"], checks.number(p["total_g"]))
                poured += checks.number(p["total_g"])
                made[p["name"]] += p["count"]
            self.assertLessEqual(poured + checks.number(b["residue_g"]), checks.number(b["mix_g"]))
            for part in b["parts"] + [p for c in b["cups"] for p in c["pigments"]]:
                used[part["name"]] += checks.number(part["g"])
        self.assertEqual({s["name"]: checks.number(s["need_g"]) for s in document["shopping"]}, {k: v for k, v in used.items() if v})
        return made

    def packed(self, rows, most, **how):
        document = self.json("run", "--pieces", self.table(rows, **how), "--mixer-max", str(most), schema="run")
        self.assertEqual(self.checked(document, most), Counter({r[0]: r[2] if len(r) > 2 else 1 for r in rows}))
        for b in document["batches"]:
            self.assertEqual(checks.number(b["mix_g"]), sum(checks.number(p["total_g"]) for p in b["pieces"]))
        return document

    def test_published_instances(self):
        # Martello and Toth (1990); Chvátal, Linear Programming, chapter 13.
        for sizes, most, bins in (([(70, 1), (60, 1), (50, 1), (33, 3), (11, 1), (7, 1), (3, 1)], 100, 4),
                                  ([(45, 97), (36, 610), (31, 395), (14, 211)], 100, 453)):
            document = self.packed([(f"piece {g}", g, n) for g, n in sizes], most)
            self.assertEqual((document["batch_count"], document["proven"]), (bins, True))

    def test_triplets(self):
        for seed in range(4):
            draw, sizes = random.Random(seed), []
            while len(sizes) < 60:
                a = draw.randint(380, 490)
                b = draw.randint(250, (1000 - a) // 2)
                if 1000 - a - b < 500:
                    sizes += [a, b, 1000 - a - b]
            draw.shuffle(sizes)
            document = self.packed([(f"p{i}", g) for i, g in enumerate(sizes)], 1000, header=False)
            self.assertEqual((document["batch_count"], document["proven"]), (20, True))

    def test_tables_as_spreadsheets_write_them(self):
        for separator in ",;\t":
            self.packed([("dish", 150, 4), ("knob", 12, 3)], 400, separator=separator)
        comma = self.folder / "comma.csv"
        comma.write_bytes("\ufeffname;grams;count\r\n\"a; \"\"b\"\"\";12,5;2\r\n".encode())
        document = self.json("run", "--pieces", str(comma), "--mixer-max", "30", schema="run")
        self.assertEqual(document["batches"][0]["pieces"][0]["name"], 'a; "b"')
        self.assertEqual(checks.number(document["batches"][0]["mix_g"]), 25)

    def test_exit_codes(self):
        good = self.table([("dish", 150, 4)])
        bad = self.table([("dish", "x", 4)], name="bad.csv")
        empty = self.folder / "empty.csv"
        empty.touch()
        for words, code in ((["--pieces", good, "--mixer-max", "400"], 0), (["--pieces", good], 64), (["--pieces", bad, "--mixer-max", "400"], 65),
                            (["--pieces", str(empty), "--mixer-max", "400"], 65), (["--pieces", good, "--mixer-max", "100"], 65),
                            (["--pieces", str(self.folder / "none.csv"), "--mixer-max", "100"], 66), ([], 64), ([str(self.folder / "none.toml")], 66),
                            (["--pieces", good, "--mixer-max", "lots"], 64), (["--pieces", good, "--mixer-max", "400", "--svg", str(self.folder / "day.svg")], 64)):
            run = self.program.run("run", *words)
            self.assertEqual(run.code, code, str(run))
        self.assertIn(":2:", self.program.run("run", "--pieces", bad, "--mixer-max", "400").err)

    def small(self):
        path = self.folder / "run.toml"
        path.write_text('title = "Coasters"\n[bench]\nbucket = "1.2 kg"\n[[mold]]\nkey = "coaster"\nmix = "70 g"\ncopies = 8\ncost = "12"\npulls = 40\n'
                        '[[piece]]\nmold = "coaster"\nwanted = 24\n[[supply]]\nname = "mineral powder"\nprice = "2.10"\n'
                        '[[supply]]\nname = "acrylic liquid"\nprice = "8.00"\n[price]\nlabour = "24"\nmarkup = "80 %"\nvat = "21 %"\n', encoding="utf-8")
        return str(path)

    def test_run_without_meshes(self):
        document = self.json("run", self.small(), schema="run")
        self.assertEqual(self.checked(document, 1200), Counter({"coaster": 24}))
        self.assertEqual(document["batch_count"], 3)
        self.assertTrue(document["day"]["proven"])

    def test_prices(self):
        document = self.json("price", self.small(), schema="price")
        self.priced(document)
        dearer = self.json("price", str(self.folder), "--set", "powder.price=99", schema="price")
        self.priced(dearer)
        self.assertEqual(dearer["lines"][0]["price_before"], document["lines"][0]["price"])
        self.assertGreater(Decimal(dearer["lines"][0]["price"]), Decimal(document["lines"][0]["price"]))
        self.assertEqual(self.program.run("price", self.small(), "--set", "nonsense=1").code, 64)
        self.assertEqual(self.program.run("price", self.small(), "--set", "margin=120%").code, 78)
        self.assertEqual(self.program.run("price").code, 64)
        out = self.folder / "list.csv"
        self.assertEqual(self.program.run("price", self.small(), "--csv", str(out)).code, 0)
        self.assertEqual(out.read_text().splitlines()[1].split(",")[12], document["lines"][0]["price"])
        # The same list again is there already; anything else is not written over.
        self.assertEqual(self.program.run("price", self.small(), "--csv", str(out)).code, 0)
        out.write_text("mine")
        self.assertEqual(self.program.run("price", self.small(), "--csv", str(out)).code, 73)
        self.assertEqual(out.read_text(), "mine")
        self.assertEqual(self.program.run("price", self.small(), "--csv", str(out), "--force").code, 0)

    def terms(self, currency, labour, **more):
        """A run file of two products in two mixes, with these terms."""
        path = self.folder / f"{currency}{len(list(self.folder.iterdir()))}.toml"
        unit = labour / 24
        price = "".join(f'{k.replace("_", "-")} = "{v}"\n' for k, v in more.items())
        path.write_text(
            '[bench]\nbucket = "1.2 kg"\n[[mold]]\nkey = "coaster"\nmix = "70 g"\ncopies = 8\n' + f'cost = "{12 * unit:.0f}"\npulls = 40\n'
            '[[mold]]\nkey = "bowl"\nholds = "101 ml"\n[[piece]]\nmold = "coaster"\nwanted = 24\nfinishing = "2 min"\n'
            f'packaging = "{unit * 3:.0f}"\n' '[[piece]]\nmold = "bowl"\nwanted = 7\nmarkup = "133.3333 %"\nmaterial = "Generic casting plaster"\n'
            '[[piece]]\nname = "bare"\nmold = "bowl"\nmargin = "20 %"\n'
            + "".join(f'[[supply]]\nname = "{n}"\nprice = "{p * unit:.0f}"\n' for n, p in (("mineral powder", 2), ("acrylic liquid", 8), ("plaster", 1), ("water", 0)))
            + f'[price]\ncurrency = "{currency}"\nlabour = "{labour}"\n' + price, encoding="utf-8")
        return str(path)

    def same_prices(self, book, document):
        exponent = max(len(line["price"].partition(".")[2]) for line in document["lines"])

        def money(x):
            return f"{x:.{exponent}f}"
        rows = book.rows("Prices")
        heads = rows[2]
        for line, row in zip(document["lines"], rows[3:]):
            found = dict(zip(heads, row))
            self.assertEqual((found["piece"], found["pieces"]), (line["name"], line["pieces"]))
            self.assertEqual([money(found[k]) for k in ("cost", "net", "tax", "price")],
                             [line["cost"]["total"], line["price_net"], line["tax"], line["price"]])
            if "price from" in found:
                self.assertEqual((money(found["price from"]), money(found["to"])), (line["price_low"], line["price_high"]))
            self.assertAlmostEqual(found["margin"], float(line["margin"]), places=5)
            self.assertAlmostEqual(found["markup"], float(line["markup"]), places=5)
            self.assertEqual(found["pieces that pay for the mold"], "" if line["break_even_pieces"] is None else line["break_even_pieces"])
            # The parts of a cost are rounded so that they add up; by less than a unit each.
            costs = dict(zip(book.rows("Costs")[0], book.rows("Costs")[rows.index(row) - 2]))
            for name, of in (("material", "material"), ("pigment", "pigment"), ("waste", "waste"), ("mold_wear", "mold wear"), ("labour", "labour")):
                self.assertLess(abs(float(line["cost"][name]) - costs[of]), 1.0001 * 10**-exponent)
        totals = {row[0]: row[3] for row in rows[len(document["lines"]) + 3:]}
        tax = totals["Tax on the sum" if "Tax on the sum" in totals else "Tax, line by line"]
        order = document["order"]
        self.assertEqual([money(totals["The order, net"]), money(tax), money(totals["With tax"])], [order["net"], order["tax"], order["gross"]])

    def test_stock_in_the_ledger(self):
        bench = ("--workshop", str(self.folder / "bench"))
        (self.folder / "bench").mkdir()

        def learn(*words, code=0):
            run = self.program.run("learn", *words, *bench)
            self.assertEqual(run.code, code, str(run))

        def stock():
            return {s["name"]: s for s in self.json("learn", "stock", *bench, schema="stock")["stock"]}
        path = self.folder / "run.toml"
        text = ('[bench]\nbucket = "1.2 kg"\nbucket-residue = "10 g"\n[[mold]]\nkey = "coaster"\nmix = "70 g"\ncopies = 8\n[[piece]]\nmold = "coaster"\nwanted = 24\n'
                '[price]\nlabour = "24"\nmarkup = "80 %"\n[[supply]]\nname = "acrylic liquid"\nstock = "250 g"\nprice = "8.00"\n')
        path.write_text(text, encoding="utf-8")
        material = ("--material", "Generic mineral composite")
        self.assertEqual(stock(), {})
        self.assertIsNone(self.json("run", str(path), *material, *bench, schema="run")["from_stock"])
        self.assertEqual(self.program.run("price", str(path), *material, *bench).code, 78)
        learn("bought", "mineral powder", "--grams", "2kg", "--cost", "4.00")
        learn("bought", "mineral powder", "--grams", "1kg", "--cost", "5.00 EUR")
        # 420 g of a mix of 3.2 : 1 take 320 g of powder.
        learn("pour", "dish", "--mixed", "420g", "--left", "10g", *material)
        self.assertEqual((stock()["mineral powder"]["g"], Decimal(stock()["mineral powder"]["price_per_kg"])), (2680, 3))
        document = self.json("run", str(path), *material, *bench, schema="run")
        rows = {r["name"]: r for r in document["shopping"]}
        self.assertEqual(checks.number(rows["mineral powder"]["stock_g"]), 2680)
        # 250 g of liquid are 1050 g of mix: one batch of eight with its residue, and six more.
        self.assertEqual(document["from_stock"], {"batches": 1, "pieces": [{"name": "coaster", "pieces": 14}]})
        self.assertIn("stock-from-ledger", {n["code"] for n in document["notes"]})
        cost = self.json("price", str(path), *material, *bench, schema="price")["lines"][0]["cost"]
        self.assertEqual(Decimal(cost["material"]), Decimal("0.29"))  # 70 g: 53.33 g at 3.00, 16.67 g at 8.00
        learn("withdraw", "3")
        self.assertEqual(stock()["mineral powder"]["g"], 3000)
        learn("counted", "mineral powder", "--grams", "500g")
        learn("used", "mineral powder", "--grams", "600g")
        self.assertEqual((stock()["mineral powder"]["g"], stock()["mineral powder"]["to_count"]), (0, True))
        learn("counted", "mineral powder", "--grams", "0g")
        self.assertFalse(stock()["mineral powder"]["to_count"])
        learn("used", "mineral powder", "--grams", "6g", "--cost", "1", code=65)
        learn("bought", "mineral powder", code=64)
        self.assertEqual(len(self.json("learn", "list", "--kind", "stock", *bench, schema="records")["records"]), 5)

    def test_spreadsheet_goes_on_counting(self):
        cases = [("EUR", 24, {"markup": "80 %", "vat": "21 %", "round_to": "0.05", "fees": "5 %", "overhead": "10 %", "failed": "4 %"}),
                 ("EUR", 24, {"margin": "45 %", "vat": "20 %", "round_to": "0.50", "rounding": "up", "wholesale_markup": "25 %"}),
                 ("JPY", 3600, {"markup": "80 %", "vat": "10 %", "round_to": "10", "rounding": "down", "vat_on": "total", "failed": "3 %"}),
                 ("KWD", 24, {"markup": "65 %", "vat": "5 %", "round_to": "0.025", "rounding": "half-up", "vat_on": "total"}),
                 ("EUR", 24, {"markup": "80 %", "vat": "21 %", "fees": "12 %", "fees_on": "gross", "fee_per_sale": "0.35", "shipping": "4.95",
                              "surplus": "charged", "round_to": "0.50", "discount": "15 %", "wholesale_discount": "45 %", "failed": "6 %"}),
                 ("JPY", 3600, {"margin": "30 %", "vat": "10 %", "fees": "3.6 %", "fees_on": "gross", "fee_per_sale": "40", "packaging": "55",
                                "wholesale_discount": "50 %", "overhead": "8 %"}),
                 ("EUR", 24, {})]
        for currency, labour, more in cases:
            run, out = self.terms(currency, labour, **more), self.folder / "list.xlsx"
            document = self.json("price", run, "--xlsx", str(out), "--force", schema="price")
            book = Book(out)
            self.assertGreater(len(book.formulas), 80)
            for place in book.formulas:
                now, then = book.value(place), book.written[place]
                if isinstance(now, str) or isinstance(then, str):
                    self.assertEqual(now, then, place)
                else:
                    self.assertAlmostEqual(now, then, delta=1e-6 * max(1, abs(then)), msg=str((place, book.formulas[place])))
            self.same_prices(book, document)
            # What is typed into the sheet gives what the program gives for the same change.
            supplies = book.rows("Materials")
            powder = next(i for i, row in enumerate(supplies) if row[1] == "mineral powder")
            book.change("Materials", f"D{powder + 1}", labour / 5)
            hour = next(i for i, row in enumerate(book.rows("Terms")) if row[0] == "Labour for an hour")
            book.change("Terms", f"B{hour + 1}", labour * 2)
            changed = self.json("price", run, "--set", f"mineral powder.price={labour / 5}", "--set", f"labour={labour * 2}", schema="price")
            self.assertNotEqual(changed["lines"][0]["price_net"], document["lines"][0]["price_net"])
            self.same_prices(book, changed)

    def random_terms(self, dice):
        """A run file with terms drawn at random, and how many decimals its currency has."""
        currency, exponent = dice.choice([("EUR", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4)])
        unit = 10 ** dice.uniform(-1, 1.5) * (100 if exponent == 0 else 1)

        def amount(most):
            return f"{dice.uniform(0, most * unit):.{dice.choice([exponent, exponent, 6, 9])}f}"

        def share(most):
            return f"{dice.uniform(0, most):.{dice.choice([0, 0, 1, 4])}f} %"
        terms = {"currency": currency, "labour": amount(30), dice.choice(["markup", "margin"]): share(60)}
        for key, most in (("vat", 25), ("fees", 12), ("overhead", 30), ("failed", 15), ("wholesale-markup", 90)):
            if dice.random() < 0.7:
                terms[key] = share(most)
        if dice.random() < 0.7:
            terms["round-to"] = f"{dice.choice([1, 5, 10, 25, 50, 99]) / 10 ** exponent:.{exponent}f}"
            terms["rounding"] = dice.choice(["half-even", "half-up", "up", "down"])
        if dice.random() < 0.4:
            terms["vat-on"] = "total"
        text = '[bench]\nbucket = "1.2 kg"\nbucket-residue = "%d g"\n' % dice.randint(0, 20)
        for k in range(dice.randint(1, 4)):
            text += f'[[mold]]\nkey = "m{k}"\nmix = "{dice.randint(5, 300)} g"\n'
            if dice.random() < 0.5:
                text += f'cost = "{amount(40)}"\npulls = {dice.randint(1, 200)}\n'
            text += f'[[piece]]\nmold = "m{k}"\nwanted = {dice.randint(1, 30)}\nfinishing = "{dice.randint(0, 9)} min"\npackaging = "{amount(2)}"\n'
            if dice.random() < 0.3:
                text += f'{dice.choice(["markup", "margin"])} = "{share(50)}"\n'
        for name in ("mineral powder", "acrylic liquid"):
            text += f'[[supply]]\nname = "{name}"\nprice = "{amount(9)}"\n'
        path = self.folder / "random.toml"
        path.write_text(text + "[price]\n" + "".join(f'{k} = "{v}"\n' for k, v in terms.items()), encoding="utf-8")
        return str(path)

    def test_spreadsheet_and_price_agree_to_the_last_unit(self):
        dice, out, priced = random.Random(20261130), self.folder / "list.xlsx", 0
        for n in range(150):
            run = self.random_terms(dice)
            done = self.program.run("price", run, "--json", "--xlsx", str(out), "--force")
            with self.subTest(n, run=Path(run).read_text(encoding="utf-8")):
                if done.code == 78:  # margin and fees leave nothing
                    self.assertIn("price-impossible", done.out)
                    continue
                self.assertEqual(done.code, 0, str(done))
                document, book = self.document(done, "price"), Book(out)
                self.same_prices(book, document)
                for place in book.formulas:
                    now, then = book.value(place), book.written[place]
                    if isinstance(now, str) or isinstance(then, str):
                        self.assertEqual(now, then, (place, book.formulas[place]))
                    else:
                        self.assertAlmostEqual(now, then, delta=1e-6 * max(1, abs(then)), msg=str((place, book.formulas[place])))
                priced += 1
        self.assertGreater(priced, 130)

    def test_names_never_become_formulas(self):
        out = self.folder / "list.xlsx"
        for name in ("=1+1", "+1", "-1", "@SUM(A1)", "\\t=1", "\\r=1", "=HYPERLINK(\\\"http://a.b\\\")", "http://a.b/c", "<b>&amp;"):
            path = self.folder / "names.toml"
            path.write_text(f'title = "{name}"\n[bench]\nbucket = "1 kg"\n[[mold]]\nkey = "a"\nmix = "70 g"\n[[piece]]\nname = "{name}"\nmold = "a"\n'
                            '[[supply]]\nname = "mineral powder"\nprice = "2"\n[[supply]]\nname = "acrylic liquid"\nprice = "8"\n[price]\nlabour = "24"\n',
                            encoding="utf-8")
            run = self.program.run("price", str(path), "--xlsx", str(out), "--force")
            if "\\" in name and name[1] in "tr":  # refused where it is read: no name holds control characters
                self.assertEqual(run.code, 78, str(run))
                continue
            self.assertEqual(run.code, 0, str(run))
            book = Book(out)
            # In the sheet Prices the name is a reference to the cell that holds it; nowhere is it a formula itself.
            self.assertTrue({name for name in book.formulas if re.match(r"[=+@-]", book.formulas[name])} == set(), name)
            self.assertFalse([f for f in book.formulas.values() if "HYPERLINK" in f or "1+1" in f or f == "1"], name)
            self.assertEqual(book.formulas[("Prices", 1, 4)], "Costs!A2")
            self.assertNotIn(("Costs", 1, 2), book.formulas)
            self.assertIsInstance(book.written[("Costs", 1, 2)], str)
            self.assertIsInstance(book.written[("Prices", 1, 1)], str)
            with zipfile.ZipFile(out) as archive:
                self.assertFalse([n for n in archive.namelist() if "external" in n.lower() or "sheet" in n and n.endswith(".rels")], name)

    def test_spreadsheet_is_whole_and_the_same_every_time(self):
        run, out, again = self.small(), self.folder / "a.xlsx", self.folder / "b.xlsx"
        for path in (out, again):
            self.assertEqual(self.program.run("price", run, "--xlsx", str(path)).code, 0)
        self.assertEqual(out.read_bytes(), again.read_bytes())
        out.write_bytes(b"mine")
        self.assertEqual(self.program.run("price", run, "--xlsx", str(out)).code, 73)
        self.assertEqual(out.read_bytes(), b"mine")
        self.assertEqual(self.program.run("price", run, "--xlsx", str(self.folder / "none" / "a.xlsx")).code, 73)

    def priced(self, document):
        net = tax = Decimal()
        for line in document["lines"]:
            cost = dict(line["cost"])
            total = Decimal(cost.pop("total"))
            self.assertEqual(sum(map(Decimal, cost.values())), total)
            self.assertEqual(Decimal(line["price_net"]) + Decimal(line["tax"]), Decimal(line["price"]))
            self.assertAlmostEqual(float(line["margin"]), float(1 - total / Decimal(line["price_net"])), places=5)
            self.assertAlmostEqual(float(line["markup"]), float(Decimal(line["price_net"]) / total - 1), places=5)
            net += Decimal(line["price_net"]) * line["pieces"]
            tax += Decimal(line["tax"]) * line["pieces"]
        order = document["order"]
        self.assertEqual((Decimal(order["net"]), Decimal(order["tax"]), Decimal(order["gross"])), (net, tax, net + tax))

    def test_tables_say_what_the_documents_say(self):
        out, comma = self.folder / "run.csv", self.folder / "comma.csv"
        run = self.small()
        document = self.json("run", run, "--csv", str(out), schema="run")
        self.assertEqual(self.program.run("run", run, "--csv", str(comma), "--decimal", "comma").code, 0)
        rows = list(csv.DictReader(out.read_text(encoding="utf-8").splitlines()))
        self.assertEqual(len(rows), sum(len(b["pieces"]) for b in document["batches"]))
        for row, (batch, piece) in zip(rows, ((b, p) for b in document["batches"] for p in b["pieces"])):
            self.assertEqual((int(row["batch"]), row["piece"], int(row["pours"]), row["colour"]),
                             (batch["id"], piece["name"], piece["count"], batch["colour"]))
            for name, value in (("batch_mix_g", batch["mix_g"]), ("each_g", piece["g"]), ("total_g", piece["total_g"]),
                                ("start_min", batch["start_min"]), ("out_min", batch["out_min"])):
                self.assertAlmostEqual(Decimal(row[name]), checks.number(value), places=2, msg=name)
        with comma.open(newline="") as text:
            self.assertEqual([{k: v.replace(",", ".") for k, v in r.items()} for r in csv.DictReader(text, delimiter=";")],
                             [{k: v.replace(",", ".") for k, v in r.items()} for r in rows])
        self.assertEqual(self.program.run("run", run, "--csv", str(self.folder / "none" / "x.csv")).code, 73)
        if "left out" in self.program.run("doctor").out:
            return
        molds = [str(ROOT / "meshes" / name) for name in ("ripple_dish.stl", "ring_cone.ply")]
        # Of two files that fail one is an entry in the table.
        card = self.program.run("card", *molds, str(self.folder / "gone.stl"), "--json", "--csv", str(out), "--force")
        document = self.document(card, "card")
        rows = list(csv.DictReader(out.read_text(encoding="utf-8").splitlines()))
        self.assertEqual([r["path"] for r in rows], [*molds, str(self.folder / "gone.stl"), "total"])
        for row, mold in zip(rows, document["molds"]):
            self.assertAlmostEqual(Decimal(row["mix_g"]), checks.number(mold["mix_g"]["value"]))
            self.assertAlmostEqual(Decimal(row["fill_ml"]), checks.number(mold["fill_mm3"]["value"]) / 1000, places=3)
        self.assertIn("gone.stl", rows[2]["error"])
        self.assertAlmostEqual(Decimal(rows[3]["mix_g"]), checks.number(document["total"]["mix_g"]))
        for part in document["total"]["parts"]:
            column = part["name"] + "_g"
            self.assertAlmostEqual(Decimal(rows[3][column]), checks.number(part["g"]))
            self.assertAlmostEqual(sum(Decimal(r[column]) for r in rows[:2]), checks.number(part["g"]))
        inspect = self.program.run("inspect", *molds, "--json", "--csv", str(out), "--force")
        document = self.document(inspect, "inspect")
        rows = list(csv.DictReader(out.read_text(encoding="utf-8").splitlines()))
        for row, file in zip(rows, document["files"], strict=True):
            self.assertAlmostEqual(Decimal(row["wall_min_mm"]), checks.number(file["walls"]["min_mm"]), places=2)
            self.assertEqual(int(row["spots"]), len(file["walls"]["spots"]))
            self.assertAlmostEqual(Decimal(row["undercut_mm2"]), checks.number(file["release"]["undercut_mm2"]), places=1)
            self.assertEqual(row["error"], "")

    def test_autumn_order(self):
        if self.program.run("measure", "--help").code != 0 or "left out" in self.program.run("doctor").out:
            self.skipTest("without the geometry wing")
        picture = self.folder / "day.svg"
        document = self.json("run", str(AUTUMN), "--svg", str(picture), schema="run")
        made = self.checked(document, 2400)
        self.assertEqual(made, Counter({"ripple dish": 25, "drawer knob": 7, "hull planter": 9, "tide tray": 13, "ring cone": 21, "bookend tern": 7}))
        self.assertEqual((document["batch_count"], document["proven"]), (20, True))
        self.assertTrue(picture.read_text().startswith("<svg "))
        self.assertEqual([f.name for f in self.folder.iterdir()], ["day.svg"])
        for jobs in ("1", "3"):
            self.assertEqual(self.json("run", str(AUTUMN), "-j", jobs, schema="run"), document)
        self.priced(self.json("price", str(AUTUMN), schema="price"))
        known = {c["code"] for c in self.json("explain", schema="explain")["codes"]}
        self.assertLessEqual({n["code"] for n in document["notes"]}, known)

    def test_one_mold_missing_is_an_entry(self):
        path = self.folder / "run.toml"
        path.write_text('[bench]\nbucket = "1 kg"\n[[mold]]\nkey = "a"\nmix = "70 g"\n[[mold]]\nkey = "b"\nfile = "gone.stl"\n[[piece]]\nmold = "a"\n[[piece]]\nmold = "b"\n')
        run = self.program.run("run", str(path), "--json")
        self.assertEqual(run.code, 1, str(run))
        document = self.document(run, "run")
        self.assertEqual(len(document["errors"]), 1)
        self.assertEqual(document["batch_count"], 1)


if __name__ == "__main__":
    main()
