#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Input with a doubt: it is taken with a word, or refused with the slip that is likely; and words people use for others."""
import sys
import tempfile
import unittest
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support.program import ProgramTest, main


class Files(ProgramTest):
    """A folder of its own, and a small run file in it."""

    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="pourwright-doubt-")
        self.addCleanup(folder.cleanup)
        self.folder = Path(folder.name)

    def run_file(self, price='currency = "EUR"\nlabour = "24"\nmarkup = "80 %"\n', more="", name="run.toml"):
        path = self.folder / name
        path.write_text('[bench]\nbucket = "1.2 kg"\n[[mold]]\nkey = "coaster"\nmix = "70 g"\ncopies = 8\n[[piece]]\nmold = "coaster"\nwanted = 24\n'
                        + more + "[price]\n" + price, encoding="utf-8")
        return str(path)

    SUPPLIES = '[[supply]]\nname = "mineral powder"\nprice = "2.10"\n[[supply]]\nname = "acrylic liquid"\nprice = "8"\n'


class Doubts(Files):
    def refused(self, *words, saying):
        run = self.program.run(*words)
        self.assertIn(run.code, (64, 65, 78), str(run))
        self.assertEqual(run.out, "", str(run))
        for word in saying if isinstance(saying, tuple) else (saying,):
            self.assertIn(word, run.err, str(run))

    def notes(self, *words, schema="mix"):
        return {n["code"]: n for n in self.json(*words, schema=schema)["notes"]}

    def test_numbers_that_cannot_be_meant_name_the_slip(self):
        mix = ("mix", "--grams", "500g")
        for words, saying in (
                (("--density", "1860"), ("1.86", "1860kg/m3")), (("--density", "186"), "1.86"), (("--density", "18.6"), "1.86"),
                (("--density", "0.00186"), "1.86"), (("--density", "1.86kg/m3"), "1.86"), (("--density", "9"), "0.5 to 4"),
                (("--ratio", "32"), "was 3.2 meant"), (("--ratio", "320"), "was 3.2 meant"), (("--ratio", "0.32"), "3.2 meant"),
                (("--ratio", "1:3"), "3:1"), (("--ratio", "1:3.2"), "3.2:1"), (("--ratio", "99"), "like 3.2"), (("--ratio", "3:0"), "not a ratio"),
                (("--ratio", "3:1:1"), "not a ratio"), (("--room", "75"), ("75F", "24 °C")), (("--room", "68"), "68F"), (("--room", "-40"), "17C"),
                (("--room", "290"), "17C"), (("--pigment", "Kelp=2000%"), "bears"), (("--allowance", "1,5,0"), "not a number")):
            with self.subTest(words):
                self.refused(*mix, *words, saying=saying)
        for words, saying in ((("--grams", "1,000g"), ("can be 1 or 1000", "write 1 or 1000")), (("--grams", "2,450 g"), "2.45 or 2450"),
                              (("--liquid", "1,250"), "1.25 or 1250"), (("--ml", "1,500"), "1.5 or 1500"),
                              (("--grams", "1 000g"), "000g"), (("--grams", "1.000,5"), "not a number")):
            with self.subTest(words):
                self.refused("mix", *words, saying=saying)

    def test_what_has_one_reading_is_taken(self):
        for words in (("--ratio", "3:1"), ("--ratio", "3 : 1"), ("--ratio", "300/100"), ("--ratio", "3,0:1")):
            document = self.json("mix", "--grams", "400g", *words, "--density", "1.8", schema="mix")
            self.assertEqual([Decimal(str(p["g"])) for p in document["parts"]], [100, 300])
            self.assertIn("ratio-given", {n["code"] for n in document["notes"]})
        for words in (("--density", "1860kg/m3"), ("--density", "1,86"), ("--density", "1,860")):
            self.assertEqual(self.json("mix", "--ml", "100", *words, "--allowance", "0%", schema="mix")["mix_g"],
                             self.json("mix", "--ml", "100", "--density", "1.86", "--allowance", "0%", schema="mix")["mix_g"])
        self.assertEqual(self.program.run("mix", "--grams", "0,500kg").code, 0)
        self.assertEqual(self.program.run("mix", "--grams", "500g", "--room", "75F").code, 0)
        self.assertTrue(self.notes("mix", "--ml", "100", "--density", "2.63")["density-far"]["warning"])
        self.assertNotIn("density-far", self.notes("mix", "--ml", "100", "--density", "1.82"))

    def test_pigments_and_cups(self):
        near = self.notes("mix", "--grams", "500g", "--pigment", "Kepl=2%")["pigment-unknown"]
        self.assertIn("“Kelp”", near["text"])
        self.assertTrue(near["warning"])
        far = self.notes("mix", "--grams", "500g", "--pigment", "Ultramarine=2%")["pigment-unknown"]
        self.assertFalse(far["warning"])
        for known in ("Kelp=2%", "kelp=2%", "KELP = 2%"):
            self.assertNotIn("pigment-unknown", self.notes("mix", "--grams", "500g", "--pigment", known))
        split = ("split", "--grams", "600g")
        self.refused(*split, "--cup", "vein=Slate", "--cup", "base", saying=("share", "vein=15%,Slate=2%"))
        self.refused(*split, "--cup", "vein=", "--cup", "base", saying="number")
        self.refused(*split, "--cup", "vein=15%,Slate", "--cup", "base", saying="Kelp=2%")
        notes = self.notes(*split, "--cup", "Slate=3%", "--cup", "base", schema="split")
        self.assertIn("Slate=15%,Slate=3%", notes["cup-like-pigment"]["text"])
        notes = self.notes(*split, "--cup", "vein=15%,Slaet=2%", "--cup", "base", schema="split")
        self.assertIn("“Slate”", notes["pigment-unknown"]["text"])
        quiet = self.notes(*split, "--cup", "Slate=15%,Slate=2%", "--cup", "base", schema="split")
        self.assertFalse({"pigment-unknown", "cup-like-pigment"} & quiet.keys())

    def test_no_powder_on_this_scale(self):
        for words in (("--liquid", "0.1g", "--scale-step", "1g"), ("--liquid", "1g", "--scale-step", "10g")):
            self.refused("mix", *words, saying=("powder", "finer scale"))
        self.assertEqual(self.program.run("mix", "--liquid", "1g", "--scale-step", "1g").code, 0)

    def test_money(self):
        yen = 'currency = "JPY"\nmarkup = "80 %"\n'
        odd = self.json("price", self.run_file(yen + 'labour = "3600.5"\nshipping = "0.50"\n', self.SUPPLIES), schema="price")
        said = {n["code"]: n for n in odd["notes"]}["money-finer-than-coin"]
        self.assertIn("labour 3600.5, shipping 0.5", said["text"].replace("0.50", "0.5"))
        whole = self.json("price", self.run_file(yen + 'labour = "3600"\n', self.SUPPLIES.replace("2.10", "210")), schema="price")
        self.assertNotIn("money-finer-than-coin", {n["code"] for n in whole["notes"]})
        for price, saying in ((yen + 'round-to = "0.50"\n', "smallest coin"),
                              (yen + 'labour = "3,600"\n', "can be 3.6 or 3600"), ('labour = "1,000"\n', "can be 1 or 1000"),
                              ('round-to = "0.005"\n', "smallest coin"), ('currency = "JYP"\n', "“JPY”"), ('fees-on = "brutto"\n', "net"),
                              ('wholesale-markup = "20 %"\nwholesale-discount = "50 %"\n', "give one"), ('discount = "100 %"\n', "discount"),
                              ('labuor = "24"\n', "labour"), ('labour = "24"\nlabor = "30"\n', "labor")):
            with self.subTest(price):
                run = self.program.run("price", self.run_file(price, self.SUPPLIES))
                self.assertEqual(run.code, 78 if "give one" not in saying else run.code, str(run))
                self.assertIn(saying, run.err, str(run))

    def test_colours_of_a_run_that_are_nearly_named(self):
        colour = '[[colour]]\nname = "Kelp"\ndose = "2 %"\n'
        self.refused("run", self.run_file(more='colour = "Klep"\n' + colour), saying="did you mean “Kelp”")
        self.refused("run", self.run_file(more='accents = ["Kelpp = 5 %"]\n' + colour), saying="did you mean “Kelp”")
        self.assertEqual(self.program.run("run", self.run_file(more='colour = "Slate"\n' + colour)).code, 0)

    def test_spelt_on_the_other_side_of_the_ocean(self):
        ours = self.run_file('labour = "24"\nmarkup = "80 %"\n', 'colour = "Kelp"\n[[colour]]\nname = "Kelp"\ndose = "1 %"\n' + self.SUPPLIES
                             + '[[supply]]\nname = "Kelp"\nprice = "80"\n')
        theirs = Path(ours).read_text().replace("labour", "labor").replace("colour", "color").replace("mold", "mould")
        other = self.folder / "theirs.toml"
        other.write_text(theirs)
        self.assertEqual(self.json("price", ours, schema="price")["lines"], self.json("price", str(other), schema="price")["lines"])
        self.assertEqual(self.json("price", ours, "--set", "labour=30", schema="price")["lines"],
                         self.json("price", ours, "--set", "labor=30", schema="price")["lines"])
        self.assertEqual(self.program.run("mix", "--grams", "500g", "--color", "never").code, 0)
        self.refused("price", ours, "--set", "labuor=30", saying="“labour”")

    def test_help_is_a_word_too(self):
        self.assertEqual(self.program.run("help").out, self.program.run("--help").out)
        for words in (("help", "mix"), ("mix", "help")):
            run = self.program.run(*words)
            self.assertEqual((run.code, run.out), (0, self.program.run("mix", "--help").out))
        self.refused("help", "mxi", saying="“mix”")

    def test_a_workshop_may_be_one_file(self):
        mine = self.folder / "mine.toml"
        self.assertEqual(self.program.run("mix", "--template", "-o", str(mine)).code, 0)
        as_file = self.json("mix", "--grams", "500g", "--workshop", str(mine), schema="mix")
        as_folder = self.json("mix", "--grams", "500g", "--workshop", str(self.folder), schema="mix")
        del as_file["material"]["workshop"], as_folder["material"]["workshop"]  # where it was found
        self.assertEqual(as_file, as_folder)
        run = self.program.run("learn", "bought", "mineral powder", "--grams", "5kg", "--cost", "17.50", "--workshop", str(mine))
        self.assertEqual(run.code, 0, str(run))
        self.assertTrue((self.folder / "ledger.db").is_file())
        self.assertEqual(self.json("learn", "stock", "--workshop", str(self.folder), schema="stock"),
                         self.json("learn", "stock", "--workshop", str(mine), schema="stock"))
        self.assertEqual(self.program.run("doctor", "--workshop", str(mine)).code, 0)
        picture = self.folder / "other" / "mine.toml"
        picture.parent.mkdir()
        picture.write_bytes(b"\xff\xd8\xff\xe0\0\x10JFIF\0" + bytes(200))
        self.refused("mix", "--grams", "500g", "--workshop", str(picture), saying="a JPEG picture, not a TOML file")
        gone = self.program.run("mix", "--grams", "500g", "--workshop", str(self.folder / "gone.toml"))
        self.assertNotEqual(gone.code, 0)

    def test_files_are_called_what_they_are(self):
        contents = {"a JPEG picture": b"\xff\xd8\xff\xe0\0\x10JFIF\0" + bytes(range(256)), "a PNG picture": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(90),
                    "a GIF picture": b"GIF89a" + bytes(range(200)), "a PDF document": b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n",
                    "a web page (HTML)": b"<!DOCTYPE html>\n<title>404</title>\n", "a gzip archive": b"\x1f\x8b\x08\0" + bytes(range(99))}
        geometry = "left out" not in self.program.run("doctor").out
        for name, raw in contents.items():
            for ending in ("stl", "obj", "ply", "3mf", "off") if geometry else ():
                path = self.folder / f"bowl.{ending}"
                path.write_bytes(raw)
                for command in (("card",), ("measure",), ("inspect",)):
                    run = self.program.run(*command, str(path))
                    self.assertEqual(run.code, 65, str(run))
                    self.assertIn(f"is {name}, not a mesh", " ".join((run.out + run.err).split()))
            for ending in ("toml", "csv"):
                path = self.folder / f"order.{ending}"
                path.write_bytes(raw)
                words = ("run", str(path)) if ending == "toml" else ("run", "--pieces", str(path), "--mixer-max", "1kg")
                run = self.program.run(*words)
                self.assertNotEqual(run.code, 0)
                self.assertIn(f"is {name}, not", run.err)
        mesh = self.folder / "cup.stl"
        mesh.write_text("solid x\nendsolid x\n")
        self.refused("run", str(mesh), saying=("a mesh", "pourwright card"))


class Prices(Files):
    """What the workshop knows of prices, and what a price list warns of."""

    def workshop(self, supplies, currency="EUR"):
        folder = self.folder / "shop"
        folder.mkdir(exist_ok=True)
        (folder / "supplies.toml").write_text(f'[workshop]\ncurrency = "{currency}"\n' + supplies, encoding="utf-8")
        return str(folder)

    PACKS = ('[[supply]]\nname = "mineral powder"\npacks = ["1 kg = 4.20", "25 kg = 50.00"]\n'
             '[[supply]]\nname = "acrylic liquid"\nprice = "8.00"\n')
    TERMS = 'labour = "24"\nmarkup = "80 %"\n'

    def test_run_and_price_find_the_same_prices(self):
        path, shop = self.run_file(self.TERMS), self.workshop(self.PACKS)
        self.assertEqual(self.program.run("price", path).code, 78)
        document = self.json("price", path, "--workshop", shop, schema="price")
        run = self.json("run", path, "--workshop", shop, schema="run")
        rows = {r["name"]: r for r in run["shopping"]}
        # 1716 g of mix with what stays behind want 1.3 kg of powder: two packs of 1 kg at 4.20, so that is its price, not the sack's 2.00.
        self.assertEqual([(p["size_g"], p["count"]) for p in rows["mineral powder"]["packs"]], [(1000, 2)])
        self.assertEqual(Decimal(rows["mineral powder"]["cost"]), Decimal("8.40"))
        self.assertEqual(Decimal(document["lines"][0]["cost"]["material"]), Decimal("0.36"))  # 53.33 g at 4.20, 16.67 g at 8.00: 0.3573
        self.assertEqual(document["order"]["to_buy"], "8.40")
        # The file goes before the workshop.
        own = self.run_file(self.TERMS, '[[supply]]\nname = "mineral powder"\nprice = "99"\n', name="own.toml")
        dear = self.json("price", own, "--workshop", shop, schema="price")
        self.assertLess(abs(Decimal(dear["lines"][0]["cost"]["material"]) - Decimal("5.413")), Decimal("0.01"))

    def test_currencies_of_file_and_workshop(self):
        shop = self.workshop(self.PACKS, "USD")
        material = ("--workshop", shop)
        self.assertEqual(self.json("price", self.run_file(self.TERMS), *material, schema="price")["currency"], "USD")
        named = self.run_file('currency = "EUR"\n' + self.TERMS, self.SUPPLIES, name="named.toml")
        document = self.json("price", named, *material, schema="price")
        self.assertEqual(document["currency"], "EUR")
        self.assertIn("workshop-prices-not-used", {n["code"] for n in document["notes"]})

    def priced(self, terms, *more, supplies=None):
        document = self.json("price", self.run_file(terms, supplies or self.SUPPLIES), *more, schema="price")
        for line in document["lines"]:
            cost = line["cost"]
            self.assertEqual(sum(Decimal(v) for k, v in cost.items() if k != "total"), Decimal(cost["total"]))
            self.assertEqual(Decimal(line["price_net"]) + Decimal(line["tax"]), Decimal(line["price"]))
        return document, document["lines"][0], {n["code"]: n for n in document["notes"]}

    def test_fees_shipping_and_discount(self):
        _, line, _ = self.priced(self.TERMS + 'vat = "20 %"\n')
        _, net, _ = self.priced(self.TERMS + 'vat = "20 %"\nfees = "10 %"\n')
        _, gross, _ = self.priced(self.TERMS + 'vat = "20 %"\nfees = "10 %"\nfees-on = "gross"\nfee-per-sale = "0.30"\nshipping = "4.90"\n')
        self.assertLess(abs(Decimal(net["fees"]) - Decimal(net["price_net"]) / 10), Decimal("0.006"))
        self.assertLess(abs(Decimal(gross["fees"]) - Decimal(gross["price"]) / 10 - Decimal("0.30")), Decimal("0.006"))
        self.assertEqual(Decimal(gross["cost"]["other"]) - Decimal(gross["fees"]), Decimal("4.90"))
        self.assertEqual(gross["wholesale_cost"], line["cost"]["total"])
        _, reduced, notes = self.priced(self.TERMS + 'vat = "20 %"\n', "--set", "discount=20%")
        self.assertEqual(reduced["list_price"], line["price"])
        self.assertEqual(reduced["price_before"], line["price"])
        self.assertLess(abs(Decimal(reduced["price"]) - Decimal(line["price"]) * Decimal("0.8")), Decimal("0.006"))
        self.assertNotIn("price-below-cost", notes)
        _, lost, notes = self.priced(self.TERMS + 'vat = "20 %"\n', "--set", "discount=60%")
        self.assertLess(Decimal(lost["price_net"]), Decimal(lost["cost"]["total"]))
        self.assertTrue(notes["price-below-cost"]["warning"])
        self.assertEqual(self.program.run("price", self.run_file(self.TERMS, self.SUPPLIES), "--set", "discount=60%", "--strict").code, 1)

    def test_wholesale_below_cost(self):
        _, line, notes = self.priced(self.TERMS + 'wholesale-markup = "20 %"\n')
        self.assertNotIn("wholesale-below-cost", notes)
        self.assertGreater(Decimal(line["wholesale_net"]), Decimal(line["wholesale_cost"]))
        _, line, notes = self.priced(self.TERMS + 'wholesale-discount = "50 %"\n')
        self.assertLess(Decimal(line["wholesale_net"]), Decimal(line["wholesale_cost"]))
        self.assertTrue(notes["wholesale-below-cost"]["warning"])
        _, line, notes = self.priced(self.TERMS + 'fees = "20 %"\nwholesale-markup = "2 %"\n')
        self.assertIn("fees", notes["wholesale-below-cost"]["text"])

    def test_surplus_pieces(self):
        def file(surplus):
            path = self.folder / "tray.toml"
            path.write_text('[bench]\nbucket = "1.2 kg"\n[[mold]]\nkey = "tray"\nmix = "300 g"\npieces = 6\n[[piece]]\nmold = "tray"\nwanted = 8\n'
                            + self.SUPPLIES + "[price]\n" + self.TERMS + surplus)
            return str(path)
        kept = self.json("price", file(""), schema="price")
        charged = self.json("price", file('surplus = "charged"\n'), schema="price")
        for document in (kept, charged):
            self.assertEqual(document["lines"][0]["surplus"], 4)
            self.assertIn("surplus-pieces", {n["code"] for n in document["notes"]})
        one, more = (Decimal(d["lines"][0]["cost"]["total"]) for d in (kept, charged))
        self.assertLess(abs(more - one * 12 / 8), Decimal("0.02"))


if __name__ == "__main__":
    main()
