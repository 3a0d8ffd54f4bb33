// SPDX-License-Identifier: GPL-3.0-or-later
// The one table of error codes: the word a script sees, the kind that decides the exit code, and what
// `explain` says.
#include <pourwright/problem.hpp>

#include <array>

namespace pourwright {
namespace {

using enum Code;
constexpr std::array table{
    CodeInfo{
        usage, "usage", Kind::usage,
        "The command line asks for something that does not exist or leaves something out. Run the command "
        "with --help to see what it takes."},
    CodeInfo{
        bad_number, "bad-number", Kind::usage,
        "A number could not be read. Write it with a decimal point or one decimal comma (2.5 or 2,5) and "
        "without thousands separators, because 1.234 and 1,234 mean different things in different places."},
    CodeInfo{
        bad_quantity, "bad-quantity", Kind::usage,
        "A quantity has a unit that does not fit, or none was recognised. Masses: mg g kg oz lb. Volumes: "
        "ml cl l cm3 mm3 in3 floz cup tbsp tsp. Lengths: mm cm m in ft. Shares: %."},
    CodeInfo{unknown_name, "unknown-name", Kind::usage,
             "A mix, pigment or scale with this name is in neither the built-in catalogue nor the workshop "
             "folder. "
             "`pourwright mix --list` shows the names that are known."},
    CodeInfo{config_missing, "config-missing", Kind::config,
             "The workshop folder that was named does not exist or cannot be opened."},
    CodeInfo{
        config_syntax, "config-syntax", Kind::config,
        "A catalogue file is not valid TOML 1.0. The message names line and column; the mistake is there or "
        "on the line above."},
    CodeInfo{
        config_unknown_key, "config-unknown-key", Kind::config,
        "A catalogue file uses a key that nothing reads. Unknown keys are refused, because a misspelt ratio "
        "that is silently ignored would be poured."},
    CodeInfo{config_bad_value, "config-bad-value", Kind::config,
             "A catalogue entry has a value of the wrong type or out of its range. The message says what is "
             "allowed."},
    CodeInfo{file_missing, "file-missing", Kind::input_missing, "There is no file or folder with this name."},
    CodeInfo{
        file_unreadable, "file-unreadable", Kind::io,
        "The file exists but could not be read: no permission, not a regular file, or the disk reported an "
        "error."},
    CodeInfo{nothing_found, "nothing-found", Kind::input_missing,
             "The folder holds no file that looks like a mesh (stl, obj, ply, off, 3mf)."},
    CodeInfo{output_exists, "output-exists", Kind::cannot_create,
             "The output file exists already and is never overwritten unless --force is given."},
    CodeInfo{output_failed, "output-failed", Kind::cannot_create,
             "The output could not be written: no permission, no space, or the folder is missing."},
    CodeInfo{
        format_unknown, "format-unknown", Kind::bad_data,
        "The content is no mesh format that is known here, whatever the name's ending says. Export it again "
        "as STL, OBJ or PLY."},
    CodeInfo{format_switched_off, "format-switched-off", Kind::bad_data,
             "This format is read by a general library that is not hardened against damaged files. It is off "
             "until "
             "--more-formats is given; use it for files you trust."},
    CodeInfo{format_not_built, "format-not-built", Kind::not_installed,
             "This build was made without the library that reads the format. Install libassimp-dev and build "
             "again, "
             "or export the mesh as STL, OBJ or PLY."},
    CodeInfo{file_empty, "file-empty", Kind::bad_data,
             "The file has no content at all. Export or copy it again."},
    CodeInfo{file_truncated, "file-truncated", Kind::bad_data,
             "The file ends before what its header promises. A download or copy was probably cut off; fetch "
             "it again."},
    CodeInfo{
        file_malformed, "file-malformed", Kind::bad_data,
        "The file breaks the rules of its format at the place named, so its triangles cannot be trusted."},
    CodeInfo{index_out_of_range, "index-out-of-range", Kind::bad_data,
             "A face points to a vertex that does not exist."},
    CodeInfo{coordinate_not_finite, "coordinate-not-finite", Kind::bad_data,
             "A coordinate is not a finite number. One such vertex makes every volume meaningless."},
    CodeInfo{too_large, "too-large", Kind::bad_data,
             "The file passes the limit on bytes or triangles. Raise the limit, or reduce the mesh."},
    CodeInfo{no_triangles, "no-triangles", Kind::bad_data,
             "The file was read, but there is no face in it: points only, lines only, or an empty mesh."},
    CodeInfo{
        reader_failed, "reader-failed", Kind::bad_data,
        "The library that reads this format stopped on the file, crashed or took too long. Nothing else was "
        "harmed. Export the mesh as STL, OBJ or PLY."},
    CodeInfo{not_closed, "not-closed", Kind::bad_data,
             "The surface is still open after mending, so it encloses nothing. Holes are closed unless "
             "--close-holes says otherwise; only the rim of a scan stays, and this one holds nothing in its "
             "position. The message says how many open edges there are. --close-holes all closes them, --up "
             "turns a scan the right way."},
    CodeInfo{
        not_oriented, "not-oriented", Kind::bad_data,
        "Some triangles face the wrong way, and turning them and uniting what touches did not sort it out: "
        "inside and outside stay mixed up along the edges that are named. `mend` writes what was made of the "
        "file, to look at."},
    CodeInfo{
        overlaps_itself, "overlaps-itself", Kind::bad_data,
        "Parts of the surface cut through or touch each other in more places than can be united. Elsewhere "
        "such parts become one body by themselves. --only solid still gives the volume, measured by columns; "
        "for what a mold holds, unite the bodies in the modelling program and export again."},
    CodeInfo{shells_contradict, "shells-contradict", Kind::bad_data,
             "Closed shells lie inside each other with directions that fit neither a void nor a solid."},
    CodeInfo{no_volume, "no-volume", Kind::bad_data,
             "The surface is closed but flat, or folded onto itself: it encloses nothing."},
    CodeInfo{
        too_uncertain, "too-uncertain", Kind::bad_data,
        "The surface was too damaged for an honest number: what closed its holes, or what was dropped, could "
        "change the volume by more than --max-uncertainty allows. Close the surface in the scan program or "
        "scan again; a mold can also be filled with water and weighed."},
    CodeInfo{
        reading_in_doubt, "reading-in-doubt", Kind::bad_data,
        "The file could be the mold or the piece that is cast, or a mold that stands another way, and the "
        "answers differ in grams. On a terminal the card shows each of them; where nobody can answer, and "
        "under --strict, nothing is weighed. The option named beside each answer settles it: --read-as mold "
        "or --read-as piece, or read-as = \"mold\" under [workshop] or in a run file for a whole folder."},
    CodeInfo{holds_nothing, "holds-nothing", Kind::bad_data,
             "Nothing in this file would hold liquid in the position it is in. Check which way is up (--up), "
             "whether "
             "there is a drain, and whether the file is the piece itself (--read-as piece)."},
    CodeInfo{fill_out_of_range, "fill-out-of-range", Kind::usage,
             "The fill level asked for lies below the floor or above the brim of the cavity."},
    CodeInfo{amount_not_positive, "amount-not-positive", Kind::usage,
             "An amount to mix must be more than nothing."},
    CodeInfo{pigment_over_ceiling, "pigment-over-ceiling", Kind::usage,
             "More pigment than the mix bears: it sets slowly and stays weak. Lower the dose, or change the "
             "ceiling in "
             "the catalogue if your supplier allows more."},
    CodeInfo{
        shares_invalid, "shares-invalid", Kind::usage,
        "The shares of the cups must be positive and add up to 100 %, or leave out one that takes the rest."},
    CodeInfo{does_not_fit, "does-not-fit", Kind::bad_data,
             "A single pour is more than a limit allows: more grams than the bucket or the scale takes, or "
             "more time "
             "than the mix stays workable. No plan can hold it; raise the limit or split the mold."},
    CodeInfo{
        price_impossible, "price-impossible", Kind::config,
        "No price can meet what is asked: a margin or fees of 100 % and more leave nothing of any price."},
    CodeInfo{ledger_busy, "ledger-busy", Kind::temporary,
             "Another program held the ledger for longer than we wait. Nothing was written; try again."},
    CodeInfo{ledger_full, "ledger-full", Kind::io,
             "The disk has no room for another record. The ledger is as it was before; make room and record "
             "it again."},
    CodeInfo{ledger_unwritable, "ledger-unwritable", Kind::io,
             "The ledger cannot be opened or written: no permission, a missing folder, or the disk reported "
             "an error. What was recorded earlier is untouched."},
    CodeInfo{ledger_corrupt, "ledger-corrupt", Kind::bad_data,
             "The ledger is damaged or is not a ledger, so it is neither read nor written. Put a copy back, "
             "or move "
             "the file away and bring your last export in with `pourwright learn import`."},
    CodeInfo{ledger_too_new, "ledger-too-new", Kind::bad_data,
             "A later version of this program wrote the ledger. Use that version; this one leaves it alone."},
    CodeInfo{record_unknown, "record-unknown", Kind::input_missing,
             "The ledger has no record with this number. `pourwright learn list` shows the records."},
    CodeInfo{record_invalid, "record-invalid", Kind::bad_data,
             "A record has a value that cannot be true, such as more left over than was mixed."},
    CodeInfo{time_limit, "time-limit", Kind::limit,
             "The file took longer than its time limit: `--time-limit`, or ten minutes of the processor. "
             "Reduce the mesh, or give it more."},
    CodeInfo{memory_limit, "memory-limit", Kind::limit,
             "The file needed more memory than `--memory-limit` allows, or than the machine has. Reduce the "
             "mesh, or "
             "give it more."},
    CodeInfo{
        internal, "internal", Kind::internal,
        "The program contradicted itself. That is our mistake, not yours; please report it with the file."},
};

constexpr bool in_order() {
  for (std::size_t i = 0; i < table.size(); ++i)
    if (static_cast<std::size_t>(table[i].code) != i) return false;
  return table.size() == static_cast<std::size_t>(internal) + 1;
}
static_assert(in_order(), "the table follows the enumeration");

}  // namespace

const CodeInfo& info(Code code) {
  return table[static_cast<std::size_t>(code)];
}
std::span<const CodeInfo> all_codes() {
  return table;
}

}  // namespace pourwright
