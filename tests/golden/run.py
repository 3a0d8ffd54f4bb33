#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What people see, word for word: every case is run and compared with tests/golden/NAME.txt.

    tests/golden/run.py PROGRAM                      compares
    tests/golden/run.py PROGRAM --without-geometry   only what a build without the geometry wing can do
    tests/golden/run.py PROGRAM --update             writes the expected files anew; read the difference before you keep it

An expected file holds the command line, standard output, standard error and exit code. A case without a file fails, and
so does a file without a case.
"""
import difflib
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import meshes
from support.program import ROOT, Program

HERE = Path(__file__).resolve().parent
DEMO = ["ripple_dish.stl", "knob_six.stl", "hull_planter.stl", "tide_tray.obj", "ring_cone.ply", "bookend_tern.stl",
        "shell_scan.ply"]

# name: (environment beyond the fixed one, arguments)
GEOMETRY = {
    "card_one": ({}, "card ripple_dish.stl"),
    "card_is_the_default": ({}, "cup.stl"),
    "card_six": ({}, "card ripple_dish.stl:4 knob_six.stl:2 hull_planter.stl tide_tray.obj:3 ring_cone.ply:6 bookend_tern.stl"),
    "card_copies": ({}, "card cup.stl --copies 12"),
    "card_large_numbers": ({}, "card hull_planter.stl --copies 400 --scale-step 1g"),
    "card_below_brim": ({}, "card cup.stl --fill -2mm"),
    "card_above_floor": ({}, "card cup.stl --fill 12.5mm"),
    "card_share": ({}, "card cup.stl tray.stl --fill 80%"),
    "card_fill_to_rim": ({}, "card tray.stl --fill-to rim"),
    "card_pigment": ({}, "card cup.stl tray.stl:2 --pigment Kelp=1.5% --pigment Chalk=0.5%"),
    "card_one_with_pigment": ({}, "card cup.stl --pigment Kelp=2,9%"),
    "card_coarse_step": ({}, "card cup.stl --scale-step 5g"),
    "card_other_ratio": ({}, "card cup.stl --ratio 3"),
    "card_other_density": ({}, "card cup.stl --ratio 3 --density 1.82 --allowance 8%"),
    "card_other_mix": ({}, "card cup.stl --material 'casting plaster'"),
    "card_tiny": ({}, "card tiny.stl"),
    "card_unit": ({}, "card tiny.stl --unit in"),
    "card_piece": ({}, "card brick.stl"),
    "card_mold_and_piece": ({}, "card cup.stl brick.stl"),
    "card_read_as_piece": ({}, "card cup.stl --read-as piece"),
    "card_on_its_side": ({}, "card cup.stl --up x"),
    "card_ascii": ({"LC_ALL": "C"}, "card ripple_dish.stl"),
    "card_decimal_comma": ({}, "card cup.stl tray.stl --decimal comma"),
    "card_german": ({"LC_ALL": "de_DE.UTF-8"}, "card ripple_dish.stl"),
    "card_colour": ({}, "card cup.stl --colour always --scale-step 5g"),
    "card_no_colour": ({"CLICOLOR_FORCE": "1", "NO_COLOR": "1"}, "card cup.stl"),
    "card_long_name": ({}, "card 'a mold whose name will not fit beside its numbers on any card.stl' cup.stl"),
    "card_folder": ({}, "card folder"),
    "card_empty_folder": ({}, "card empty_folder"),
    "card_quoted_path": ({}, """card "'two words.stl'" """),
    "card_file_uri": ({}, "card file://HERE/two%20words.stl"),
    "card_dropped_with_blank": ({}, "card 'two words.stl '"),
    "card_copies_of_dropped": ({}, "card 'two words.stl:3'"),
    # Its rim runs out to nothing all round: which place is named as the thinnest differs from system to system.
    "card_scan_with_holes": ({}, "card shell_scan.ply", r"(?m)^Watch .*\n .*"),
    "card_liquid": ({}, "card cup.stl:3 tray.stl --liquid 102g --pigment Kelp=1% --workshop tern"),
    "card_liquid_short": ({}, "card cup.stl:9 --liquid 102.37g --us"),
    "card_one_fails": ({}, "card cup.stl sheet.stl nothing_here.stl"),
    "card_fill_too_high": ({}, "card cup.stl --fill 99mm"),
    "error_missing": ({}, "card ripple_dsh.stl"),
    "error_missing_no_idea": ({}, "card nothing_like_it.stl"),
    "error_no_file": ({}, "card"),
    "error_option": ({}, "card cup.stl --fil 80%"),
    "error_option_elsewhere": ({}, "card cup.stl --pieces pieces.csv"),
    "error_command": ({}, "messure"),
    "error_material": ({}, "card cup.stl --material 'Boathuse fine' --workshop tern"),
    "error_workshop": ({}, "card cup.stl --workshop nowhere"),
    "error_catalogue": ({}, "card cup.stl --workshop bad_workshop"),
    "error_fill": ({}, "card cup.stl --fill full"),
    "error_unit": ({}, "card cup.stl --unit yards"),
    "error_up": ({}, "card cup.stl --up sideways"),
    "error_open": ({}, "measure sheet.stl"),
    "error_hole_left_open": ({}, "measure open.stl --close-holes none"),
    "error_hole_too_large": ({}, "measure open.stl --close-holes up-to 20mm"),
    "measure_holes_up_to": ({}, "measure open.stl --close-holes 40mm"),
    "measure_holes_all": ({}, "measure open.stl --close-holes all"),
    "error_holes_which": ({}, "measure open.stl --close-holes most"),
    "error_holes_no_size": ({}, "measure --close-holes up-to open.stl"),
    "error_empty": ({}, "measure empty.stl"),
    "error_text": ({}, "measure letter.stl"),
    "error_control_characters": ({}, r"measure $'evil\e[31m\r.stl'"),
    "error_json": ({}, "card cup.stl --ratio much --json"),
    "measure_mold": ({}, "measure ripple_dish.stl"),
    "measure_tray": ({}, "measure tray.stl"),
    "measure_piece": ({}, "measure brick.stl"),
    "measure_solid_only": ({}, "measure cup.stl --only solid"),
    "measure_cavities_only": ({}, "measure cup.stl --only cavities --quick"),
    "measure_void": ({}, "measure void.stl"),
    "measure_scan": ({}, "measure scan.obj"),
    "measure_mended": ({}, "measure open.stl"),
    "measure_united": ({}, "measure overlap.stl"),
    "measure_several": ({}, "measure cup.stl sheet.stl brick.stl"),
    "inspect_fins": ({}, "inspect tide_tray.obj --age 45min"),
    "inspect_cold_room": ({}, "inspect tide_tray.obj --age 45min --room 17C --decimal comma"),
    "inspect_undercut": ({}, "inspect ring_cone.ply"),
    "inspect_ascii": ({"LC_ALL": "C"}, "inspect ring_cone.ply"),
    "inspect_piece": ({}, "inspect brick.stl"),
    "inspect_of_mold": ({}, "inspect ripple_dish.stl --of mold --min-wall 6mm"),
    "inspect_of_mold_piece": ({}, "inspect brick.stl --of mold"),
    "inspect_limits": ({}, "inspect ring_cone.ply --fail-if 'wall<2mm' --fail-if 'undercut>5%'"),
    "inspect_one_fails": ({}, "inspect cup.stl sheet.stl"),
    "error_limit": ({}, "inspect cup.stl --fail-if 'wal<2mm'"),
    "error_limit_unit": ({}, "inspect cup.stl --fail-if 'draft<2mm'"),
    "error_age": ({}, "inspect cup.stl --age 0min"),
    "help_inspect": ({}, "inspect --help"),
    "run_autumn": ({}, "run run.toml"),
    "run_folder": ({}, "run folder --copies 3 --mixer-max 400g"),
    "price_autumn": ({}, "price run.toml"),
    "price_what_if": ({}, "price run.toml --set powder.price=3.20 --set margin=45%"),
    "help_card": ({}, "card --help"),
    "help_measure": ({}, "measure --help"),
    "doctor": ({}, "doctor"),
}
BOTH = {
    "nothing": ({}, ""),
    "help": ({}, "--help"),
    "help_mix": ({}, "mix --help"),
    "help_setup": ({}, "setup --help"),
    "error_setup_nobody": ({}, "setup"),
    "help_split": ({}, "split --help"),
    "help_leftover": ({}, "leftover --help"),
    "help_records": ({}, "records --help"),
    "help_repeat": ({}, "repeat --help"),
    "help_explain": ({}, "explain --help"),
    "help_doctor": ({}, "doctor --help"),
    "help_completion": ({}, "completion --help"),
    "version": ({}, "--version"),
    "mix_liquid": ({}, "mix --liquid 102g"),
    "mix_ml": ({}, "mix --ml 250ml"),
    "mix_grams": ({}, "mix --grams 1.2kg --pigment Kelp=2%"),
    "mix_ascii": ({"LC_ALL": "C"}, "mix --liquid 102g"),
    "mix_coarse": ({}, "mix --grams 30g --scale-step 1g"),
    "mix_list": ({}, "mix --list"),
    "mix_parts": ({}, "mix --grams 900g --material boathouse-terrazzo --pigment Slate=1.5% --workshop tern"),
    "mix_us": ({}, "mix --ml 8floz --us --cup-weight 4.9kg --workshop tern"),
    "mix_room": ({}, "mix --liquid 102g --room 97F"),
    "mix_template": ({}, "mix --template"),
    "error_component": ({}, "mix --ml 100 --workshop bad_component"),
    "mix_json": ({}, "mix --liquid 102g --json"),
    "error_mix_nothing": ({}, "mix"),
    "error_mix_two": ({}, "mix --ml 100 --grams 100"),
    "error_mix_stray": ({}, "mix 102g"),
    "error_mix_number": ({}, "mix --liquid 1.234,5g"),
    "error_mix_unit": ({}, "mix --liquid 102ml"),
    "error_mix_nan": ({}, "mix --liquid nan"),
    "error_pigment_ceiling": ({}, "mix --grams 500 --pigment Kelp=2% --pigment Rust=2%"),
    "split": ({}, "split --grams 640g --cup sea=60%,Kelp=2% --cup foam=40%,Chalk=1%"),
    "split_rest_takes": ({}, "split --grams 500 --cup vein=15%,Slate=1.5%,Chalk=1,2% --cup base --scale-step 1g"),
    "split_tiny_pigment": ({}, "split --grams 500.05g --cup a=50%,Kelp=0.01% --cup b=50%"),
    "split_veins": ({}, "split --liquid 102g --technique veins --portions 4 --cup base=85%,Chalk=1% --cup vein=15%,Slate=2% --workshop tern"),
    "split_layers": ({}, "split --grams 640g --technique layered --portions 5 --cup rust=60%,Rust=2% --cup chalk=40%,Chalk=1.5% --residue 3g --pour 500g --us"),
    "split_sides": ({}, "split --grams 640g --technique side-by-side --cup rust=50%,Rust=2% --cup chalk=50%"),
    "split_plan": ({}, "split dishes.toml --workshop tern"),
    "split_plan_json": ({}, "split dishes.toml --workshop tern --json"),
    "error_split_plan": ({}, "split dishes_wrong.toml"),
    "error_split_technique": ({}, "split --grams 500 --technique vein --cup a=50% --cup b"),
    "error_split_no_cup": ({}, "split --grams 500"),
    "leftover": ({}, "leftover --grams 86g --workshop tern"),
    "leftover_no_molds": ({}, "leftover --grams 86g"),
    "error_repeat_nothing": ({}, "repeat"),
    "error_repeat_unknown": ({}, "repeat kelp"),
    "records_none": ({}, "records"),
    "error_split_shares": ({}, "split --grams 500 --cup a=50% --cup b=60%"),
    "blend": ({}, "blend --base #ece7db --swatch Kelp=2%:#5f8a62 --swatch Rust=2%:#a9583a --pigment Kelp=1% --pigment Rust=3.2%"),
    "blend_target": ({}, "blend --base #ece7db --swatch Kelp=2%:#5f8a62 --swatch Rust=2%:#a9583a --target #9a9468"),
    "error_blend_base": ({}, "blend --swatch Kelp=2%:#5f8a62"),
    "error_blend_colour": ({}, "blend --base red"),
    "run_pieces": ({}, "run --pieces pieces.csv --mixer-max 100g"),
    "run_pieces_json": ({}, "run --pieces pieces.csv --mixer-max 100g --json"),
    "run_pieces_comma": ({}, "run --pieces pieces_comma.csv --mixer-max 40,5g --decimal comma"),
    "error_run_pieces": ({}, "run --pieces pieces_wrong.csv --mixer-max 100g"),
    "error_run_too_heavy": ({}, "run --pieces pieces.csv --mixer-max 60g"),
    "error_run_no_mixer": ({}, "run --pieces pieces.csv"),
    "error_run_nothing": ({}, "run"),
    "error_run_key": ({}, "run run_wrong.toml"),
    "error_price_no_terms": ({}, "price run_small.toml"),
    "run_without_meshes": ({}, "run run_small.toml"),
    "help_run": ({}, "run --help"),
    "help_price": ({}, "price --help"),
    "explain": ({}, "explain not-closed"),
    "explain_note": ({}, "explain unit-unlikely"),
    "error_explain": ({}, "explain not-clsed"),
    "completion_bash": ({}, "completion bash"),
    "error_completion": ({}, "completion tcsh"),
}
WORKSHOP_ONLY = {
    "without_geometry_card": ({}, "card cup.stl"),
    "without_geometry_doctor": ({}, "doctor"),
}


SMALL_RUN = """title = "Two dozen coasters"
[bench]
bucket = "1.2 kg"
[hours]
start = "09:30"
[[mold]]
key = "coaster"
mix = "70 g"
copies = 8
[[piece]]
mold = "coaster"
wanted = 24
"""


def lay_out(folder):
    """The files that the cases name."""
    for name in DEMO:
        shutil.copy(ROOT / "meshes" / name, folder)
    autumn = (ROOT / "docs/examples/autumn/run.toml").read_text(encoding="utf-8").replace("../../../meshes/", "").replace("../tern", "tern")
    (folder / "run.toml").write_text(autumn, encoding="utf-8")
    (folder / "run_wrong.toml").write_text(autumn.replace("copies = 4", "copis = 4"), encoding="utf-8")
    (folder / "run_small.toml").write_text(SMALL_RUN, encoding="utf-8")
    # Martello and Toth's nine pieces: their sum would do in three batches, but it takes four.
    sizes = [70, 60, 50, 33, 33, 33, 11, 7, 3]
    (folder / "pieces.csv").write_text("name,grams\n" + "".join(f"piece {i + 1},{g}\n" for i, g in enumerate(sizes)))
    (folder / "pieces_comma.csv").write_text("name;grams;count;colour\nsmall dish;12,5;3;Kelp\nknob;6,2;4;Slate\n")
    (folder / "pieces_wrong.csv").write_text("name,grams,count\ndish,150,2\nknob,twelve,3\n")
    cup = meshes.cup(60, 40, 30, wall=5, floor=5)
    triangles = cup.triangles()
    for name in ("cup.stl", "two words.stl", "a mold whose name will not fit beside its numbers on any card.stl"):
        meshes.write_stl(folder / name, triangles)
    meshes.write_stl(folder / "tray.stl", meshes.row_of_cups([20, 30, 25], 40, 18, rim=3).triangles())
    meshes.write_stl(folder / "tiny.stl", meshes.cup(2.5, 1.5, 1.25, wall=0.25, floor=0.25).triangles())
    meshes.write_stl(folder / "brick.stl", meshes.Blocks([80], [30], [20]).fill([0], [0], [0]).triangles())
    meshes.write_stl(folder / "open.stl", triangles[7:])
    meshes.write_stl(folder / "overlap.stl", triangles + meshes.moved(triangles, (30, 20, 10)))
    void = meshes.Blocks([20] * 3, [20] * 3, [20] * 3).fill(range(3), range(3), range(3)).clear([1], [1], [1])
    meshes.write_stl(folder / "void.stl", void.triangles())
    inside = [t for t in triangles if all(5 <= x <= 65 and 5 <= y <= 45 and z >= 5 for x, y, z in t)]
    rim = [t for t in triangles if all(z == 35 for _, _, z in t)]
    meshes.write_obj(folder / "scan.obj", inside + rim)
    meshes.write_stl(folder / "sheet.stl", [((0, 0, 0), (40, 0, 0), (40, 30, 0)), ((0, 0, 0), (40, 30, 0), (0, 30, 0))])
    (folder / "empty.stl").touch()
    (folder / "letter.stl").write_text("Dear workshop,\nplease find the mold attached.\n", encoding="utf-8")
    for name in ("b/cup.stl", "a.stl", ".hidden.stl", ".hidden/cup.stl"):
        (folder / "folder" / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(folder / "cup.stl", folder / "folder" / name)
    (folder / "folder" / "readme.txt").write_text("no mesh\n", encoding="utf-8")
    (folder / "empty_folder").mkdir()
    shutil.copytree(ROOT / "docs/examples/tern", folder / "tern")
    plan = (ROOT / "docs/examples/plans/dishes.toml").read_text(encoding="utf-8")
    plan = plan.replace("../tern", "tern")
    (folder / "dishes.toml").write_text(plan, encoding="utf-8")
    (folder / "dishes_wrong.toml").write_text(plan.replace('"veins" ', '"vein" '), encoding="utf-8")
    (folder / "bad_component").mkdir()
    tern = (folder / "tern" / "tern.toml").read_text(encoding="utf-8")
    (folder / "bad_component" / "a.toml").write_text(tern.replace('kind = "retarder"', 'kind = "retardant"'), encoding="utf-8")
    (folder / "bad_workshop").mkdir()
    (folder / "bad_workshop" / "mixes.toml").write_text('[[mix]]\nkey = "ours"\nname = "Ours"\nratoi = 3\n', encoding="utf-8")


def words_of(line, folder):
    """The command line as a shell would split it; $'…' with its escapes is one word."""
    if line.startswith("measure $'"):
        return ["measure", line[len("measure $'"):-1].encode().decode("unicode_escape").replace("\\e", "\x1b")]
    return [w.replace("HERE", str(folder)) for w in shlex.split(line)]


def seen(program, name, case, folder):
    env, line, *varies = case
    run = program.run(*words_of(line.replace(r"\e", r"\x1b"), folder), cwd=folder, env=env)
    head = " ".join(["$", *(f"{k}={v}" for k, v in env.items()), "pourwright", line]).rstrip()
    text = f"{head}\n{run.out}"
    if run.err:
        text += f"--- standard error\n{run.err}"
    for lines in varies:
        text = re.sub(lines, lambda found: re.sub(r"-?\d+(\.\d+)?", "#", found[0]), text)
    return text.replace(str(folder), "HERE") + f"--- exit code {run.code}\n"


def main():
    options = set(sys.argv[2:])
    if len(sys.argv) < 2 or options - {"--update", "--without-geometry"}:
        sys.exit(__doc__)
    program = Program(sys.argv[1])
    alone = "--without-geometry" in options
    cases = {**BOTH, **(WORKSHOP_ONLY if alone else GEOMETRY)}
    failed = []
    with tempfile.TemporaryDirectory(prefix="pourwright-golden-") as temporary:
        folder = Path(temporary).resolve()
        lay_out(folder)
        for name, case in cases.items():
            expected_file = HERE / f"{name}.txt"
            text = seen(program, name, case, folder)
            if "--update" in options:
                if not expected_file.exists() or expected_file.read_bytes() != text.encode():
                    expected_file.write_bytes(text.encode())
                    print(f"wrote {expected_file.name}")
                continue
            if not expected_file.exists():
                failed.append(name)
                print(f"{name}: {expected_file} is missing\n{text}")
                continue
            expected = expected_file.read_bytes().decode()
            if expected != text:
                failed.append(name)
                sys.stdout.writelines(difflib.unified_diff(expected.splitlines(True), text.splitlines(True),
                                                           f"{name}: expected", f"{name}: seen"))
    strays = {p.stem for p in HERE.glob("*.txt")} - set(BOTH) - set(GEOMETRY) - set(WORKSHOP_ONLY)
    for name in sorted(strays):
        failed.append(name)
        print(f"{name}.txt belongs to no case")
    if failed:
        sys.exit(f"{len(failed)} of {len(cases)} cases differ: {', '.join(failed)}")
    print(f"{len(cases)} cases, all as expected")


if __name__ == "__main__":
    os.environ.setdefault("PYTHONDONTWRITEBYTECODE", "1")
    main()
