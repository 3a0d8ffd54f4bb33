# SPDX-License-Identifier: GPL-3.0-or-later
"""What must hold between the numbers of a document, in decimal arithmetic on the digits as printed."""
from decimal import Decimal


def number(value):
    """A printed number as it stands; `strict_json` has left no binary ones."""
    assert isinstance(value, (int, Decimal)) and not isinstance(value, bool), value
    return Decimal(value)


def interval(test, v, what):
    test.assertLessEqual(number(v["low"]), number(v["value"]), what)
    test.assertLessEqual(number(v["value"]), number(v["high"]), what)


def whole_steps(test, grams, step, what):
    test.assertEqual(number(grams) % number(step), 0, f"{what}: {grams} g is no whole number of {step} g")


def sums(test, parts, total, what):
    test.assertEqual(sum(number(p["g"]) for p in parts), number(total), what)


def by_name(parts):
    return [(p["name"], number(p["g"])) for p in parts]


KINDS = ("liquid", "powder", "pigment", "component", "water")


def kinds(test, value):
    """Every part anywhere in a document says what it is; a whole batch has one liquid, weighed first, and one powder."""
    if isinstance(value, list):
        for v in value:
            kinds(test, v)
    if not isinstance(value, dict):
        return
    for key, v in value.items():
        if key in ("parts", "pigments", "shopping") and isinstance(v, list):
            said = [p["kind"] for p in v]
            test.assertLessEqual(set(said), set(KINDS), str(v))
            if key == "pigments":
                test.assertLessEqual(set(said), {"pigment"}, str(v))
            if key == "parts" and v:
                test.assertEqual((said[0], said.count("liquid"), said.count("powder")), ("liquid", 1, 1), str(v))
        kinds(test, v)


def base(parts):
    """Liquid and powder, between which wet components may stand."""
    return tuple(number(next(p["g"] for p in parts if p["kind"] == kind)) for kind in ("liquid", "powder"))


def card(test, document):
    step, total = document["scale_step_g"], document["total"]
    sums(test, total["parts"], total["mix_g"], "the total's parts")
    for grams in [p["g"] for p in total["parts"]] + [total["mix_g"]]:
        whole_steps(test, grams, step, "total")
    test.assertEqual(sum(number(m["mix_g"]["value"]) for m in document["molds"]), number(total["mix_g"]), "the molds' rows")
    for i, part in enumerate(total["parts"]):
        test.assertEqual(sum(number(m["parts"][i]["g"]) for m in document["molds"]), number(part["g"]), part["name"])
    for mold in document["molds"]:
        sums(test, mold["parts"], mold["mix_g"]["value"], mold["path"])
        test.assertEqual([p["name"] for p in mold["parts"]], [p["name"] for p in total["parts"]])
        for p in mold["parts"]:
            whole_steps(test, p["g"], step, mold["path"])
        interval(test, mold["fill_mm3"], mold["path"])
        interval(test, mold["mix_g"], mold["path"])
    if document["molds"]:
        liquid, powder = base(total["parts"])
        if liquid:
            test.assertLessEqual(abs(powder / liquid - number(total["ratio_weighed"])), Decimal("0.000001"))
        needed = sum(number(m["fill_mm3"]["value"]) * m["copies"] for m in document["molds"]) / 1000
        needed *= number(document["material"]["density_g_per_ml"]) * (1 + number(document["allowance"]))
        if not {"liquid-short"} & {n["code"] for n in document["notes"]}:
            test.assertGreaterEqual(number(total["mix_g"]) + Decimal("0.00001") * len(document["molds"]), needed, "the tray runs short")


def mix(test, document):
    sums(test, document["parts"], document["mix_g"], "mix")
    liquid, powder = base(document["parts"])
    test.assertLessEqual(abs(powder / liquid - number(document["ratio_weighed"])), Decimal("0.000001"))


def split(test, document):
    sums(test, document["cups"], document["mix_g"], "the cups")
    test.assertEqual(sum(number(c["share"]) for c in document["cups"]), 1)
    for cup in document["cups"]:
        sums(test, cup["pigments"], cup["pigment_g"], cup["name"])


def plan(test, document):
    """What goes in comes out, step by step and in all."""
    poured = pigment = 0
    for step in document["steps"]:
        added = sum(number(c["pigment_g"]) for c in step["cups"])
        there = number(step["plain_g"]) + number(step["carried_g"]) + added
        test.assertEqual(there, number(step["poured_g"]) + number(step["residue_g"]) + number(step["left_g"]), step["name"])
        test.assertEqual(sum(number(p["g"]) for p in step["order"]), number(step["poured_g"]), step["name"])
        test.assertEqual(sum(number(c["share"]) for c in step["cups"]), 1, step["name"])
        poured += number(step["poured_g"]) + number(step["residue_g"])
        pigment += added
    test.assertEqual(number(document["mix_g"]) + pigment, poured + number(document["left_g"]) + number(document["bucket_g"]))


def measured(test, document):
    for f in document["files"]:
        if f["bounds_mm"]:
            low, high = f["bounds_mm"]
            test.assertTrue(all(number(a) <= number(b) for a, b in zip(low, high)), f["path"])
        if f["solid"]:
            interval(test, f["solid"]["volume_mm3"], f["path"])
        test.assertAlmostEqual(float(sum(number(c) ** 2 for c in f["up"])), 1, places=12)
        cavities = {c["id"]: c for c in f["cavities"]}
        test.assertEqual(list(cavities), list(range(1, len(cavities) + 1)), f["path"])
        for c in f["cavities"]:
            what = f"{f['path']} cavity {c['id']}"
            interval(test, c["capacity_mm3"], what)
            test.assertLessEqual(number(c["floor_z_mm"]), number(c["brim_z_mm"]), what)
            above = ancestors(cavities, c)
            if c["filled"]:
                test.assertFalse(any(cavities[a]["filled"] for a in above), what + " is inside another that is filled")
            for a in above:
                test.assertEqual(cavities[a]["kind"], "pool", what)
                test.assertLessEqual(number(c["capacity_mm3"]["value"]), number(cavities[a]["capacity_mm3"]["value"]), what)
                test.assertLess(number(c["brim_z_mm"]), number(cavities[a]["brim_z_mm"]), what)
            if c["kind"] == "sealed":
                test.assertFalse(c["filled"], what)
        if f["fill_mm3"]:
            interval(test, f["fill_mm3"], f["path"])


def ancestors(cavities, cavity):
    out = []
    while cavity["parent"] is not None:
        assert cavity["parent"] not in out, "a circle of parents"
        out.append(cavity["parent"])
        cavity = cavities[cavity["parent"]]
    return out


def codes_in(value):
    """Every code anywhere in a document."""
    if isinstance(value, dict):
        if "code" in value:
            yield value["code"]
        for v in value.values():
            yield from codes_in(v)
    elif isinstance(value, list):
        for v in value:
            yield from codes_in(v)
