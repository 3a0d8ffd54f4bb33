// SPDX-License-Identifier: GPL-3.0-or-later
// What the notes beside a result mean and what to do about them.
#include <pourwright/report.hpp>

#include <array>

namespace pourwright {
namespace {

constexpr std::array known_notes{
    NoteInfo{"air-trap",
             "Filled from below, air cannot leave this part of the cavity. Drill a vent where the note says, "
             "or tilt the "
             "mold while it fills."},
    NoteInfo{
        "allowance-forecast",
        "What is added is reckoned, not a fixed share: what stays in the cups, and so much more that the "
        "batch runs short no more often than --risk says. No pour is recorded yet, so common practice "
        "stands for the workshop's own; record pours and it shrinks or grows to fit."},
    NoteInfo{"allowance-given",
             "A fixed share is added, as the command or the workshop's file says. The note says how often "
             "that runs short, and what would be added without it."},
    NoteInfo{"allowance-learned",
             "What is added follows from the workshop's own pours: what stays in the cups, and so much more "
             "that the batch runs short no more often than --risk says."},
    NoteInfo{"bench-tilt",
             "What a bench that is off level costs, in the worst direction, before the mold spills."},
    NoteInfo{"bodies-apart",
             "Bodies in the file face each other across a gap wider than those that are closed unasked, and "
             "joined they would hold more: the halves of a mold that were not pushed together, as a rule. "
             "The option beside it joins them."},
    NoteInfo{"body-idle",
             "A body of the file touches nothing that is poured: it neither holds liquid nor stands in it. "
             "It counts in the volume of the body and nowhere else."},
    NoteInfo{"body-inside-body",
             "A closed body lies wholly inside the material of another. Its material is there already, so it "
             "counts once. "
             "If it was meant as a hollow, its faces point the wrong way."},
    NoteInfo{
        "bucket-assumed",
        "Nobody said how much the mixing bucket takes, so a batch is at most what the scale carries. Give "
        "--mixer-max, or bucket in the run file."},
    NoteInfo{"bucket-too-small",
             "The batch is more than the bucket of the workshop takes (bucket in [workshop]). Mix several "
             "batches."},
    NoteInfo{
        "capacity-learned",
        "The mold's volume was corrected by water fills and pours that were recorded, each counting by its "
        "precision. --no-learned goes by the file alone."},
    NoteInfo{"closed-void",
             "A hollow without an opening. It is not material, and nothing can be poured into it."},
    NoteInfo{"colour-short",
             "A step is to pour more than its cups give once what stays in them is taken off, or a cup holds "
             "no more than what stays in it. Take more of the mix for it, or pour less."},
    NoteInfo{"columns",
             "The surfaces overlap in too many places to be united, so the volume was added up over vertical "
             "columns at two resolutions; their difference is in the interval."},
    NoteInfo{"columns-coarse",
             "Volumes are checked by columns through the mesh. This one lies in so many layers that wider "
             "columns had to do, and they say nothing of cavities as small as the note tells."},
    NoteInfo{"columns-disagree",
             "The exact sum over the cavity's surface and a count of columns through it give different "
             "volumes, or columns hold liquid where the surface has no cavity. There may be a narrow leak, "
             "or the mesh overlaps itself."},
    NoteInfo{
        "copies-dropped",
        "A body is in the file twice, not quite in one place. One was kept; what the other would add is in "
        "the interval."},
    NoteInfo{"cracks", "Edges that lie side by side without sharing points were joined."},
    NoteInfo{"cup-like-pigment",
             "A cup of a split is called like a pigment, has a small share and no pigment. Perhaps its "
             "dose was written where its share belongs: NAME=SHARE,PIGMENT=DOSE."},
    NoteInfo{"degenerate-triangles", "Triangles that use one point twice have no area and change no volume."},
    NoteInfo{
        "density-differs-from-catalogue",
        "The recorded cups and the catalogue contradict each other. Perhaps the ratio changed, or the cup's "
        "volume is not what was said."},
    NoteInfo{"density-drifts",
             "The latest pours took more, or less, than the earlier ones let expect, and more than scatter "
             "explains. A new lot of powder does that. `pourwright learn lot NAME` says so, and a cup test "
             "tells how much; without either the forecast follows within about five pours."},
    NoteInfo{
        "density-far",
        "The density that was given differs by more than a quarter from that of the mix. It must be that "
        "of the poured mix, not of the powder or of the liquid."},
    NoteInfo{"density-given", "The density was given with --density and is taken as it is."},
    NoteInfo{"density-learned",
             "The density of the poured mix comes from the workshop's records: cup tests and pours, with the "
             "catalogue counting as one more of its own precision. --no-learned or --density overrule it."},
    NoteInfo{"density-measured",
             "The density of the poured mix was measured: a cup of known volume was poured and weighed."},
    NoteInfo{
        "density-not-measured",
        "Nobody has weighed a cup of this mix: its density is a table's or computed, 7 % either way unless a "
        "file says otherwise, and the ratio may be common practice. Fill a cup of known volume, weigh it, "
        "and "
        "record it with `pourwright learn cup`; or give the density with --density or in the workshop's "
        "file."},
    NoteInfo{"doubled-faces", "Faces that were there twice were dropped."},
    NoteInfo{
        "drain",
        "The mold leaks through a passage. Plug it before pouring; the note says what it would hold then."},
    NoteInfo{"early-demold",
             "A thin place of the piece is weak when it leaves the mold at that age. The note says what "
             "would help first; pourwright inspect says the rest. It is an estimate for handling, not a "
             "strength certificate."},
    NoteInfo{"endsolid-missing", "A text STL file ends without its closing line. It may have been cut off."},
    NoteInfo{"extra-values",
             "Rows of the file hold more numbers than its header announces; the rest was left out."},
    NoteInfo{"faces-skipped", "Faces with fewer than three corners enclose nothing and were left out."},
    NoteInfo{"filled-brims",
             "Several cavities stand under a raised rim; each is filled to its own brim. --fill-to rim "
             "floods them all."},
    NoteInfo{"filled-mixed",
             "Some cavities are filled to their own brims and some groups to their outer rim, whichever "
             "holds the larger part. "
             "--fill-to brims or --fill-to rim decides otherwise."},
    NoteInfo{"filled-rim",
             "The cavities are details of one larger mold, which is filled to its outer rim. --fill-to brims "
             "fills each by itself."},
    NoteInfo{"flat-faces", "Faces without area were dropped; they change no volume."},
    NoteInfo{"flipped-faces", "Faces that looked the wrong way were turned."},
    NoteInfo{"floor-detail",
             "Dips too small to be cavities of their own are filled with the rest and not listed."},
    NoteInfo{"folds",
             "Parts of the surface could not be told to be floor or roof: the mesh folds or overlaps there."},
    NoteInfo{"format-by-content",
             "The name's ending says one format and the content is another; the content was believed."},
    NoteInfo{"fragments", "Small loose pieces of surface beside the main body were dropped."},
    NoteInfo{"free-form-ignored",
             "Curves and free-form surfaces of an OBJ file are not triangles and were not read."},
    NoteInfo{
        "gap-closed",
        "Bodies in the file lie next to each other with a narrow gap, as mold halves do. Liquid would run "
        "out through it in the model but not in the workshop, so it was closed. The note says what the "
        "mold would hold otherwise; --gap 0mm leaves gaps open, --gap 0.3mm closes wider ones."},
    NoteInfo{"gap-left",
             "Bodies in the file lie next to each other with a narrow gap, and their faces are too finely "
             "divided to be joined exactly. Join them in the modelling program, or take fewer triangles."},
    NoteInfo{"halves-side-by-side",
             "Two bodies of the same outline stand side by side, and each would hold more but for a channel "
             "out of its side. Those are the halves of one mold, opened and laid down, as a rule; as they "
             "lie they are measured as two open molds."},
    NoteInfo{"holds-more-turned",
             "The body holds clearly more standing another way than as it is modelled, so it may not stand "
             "as it is poured. The option beside it turns it."},
    NoteInfo{"holes-closed",
             "Holes in the surface were closed. What they could have hidden widens the range of the volume."},
    NoteInfo{"inner-sheets", "Sheets inside the body that enclose nothing were dropped."},
    NoteInfo{"inverted", "Surfaces faced inwards and were turned round. The volume is the same either way."},
    NoteInfo{"lattice-ignored",
             "The file describes a lattice of beams, which is not part of the surface that was read."},
    NoteInfo{"leaky-patch",
             "Three independent sums of a cavity's volume disagree, so its surface has a hole or a flipped "
             "triangle. "
             "Do not trust the number; mend the mesh."},
    NoteInfo{"lean",
             "Caught air gets out when the mold leans this far while it is poured; level it before the last "
             "of the mix."},
    NoteInfo{"ledger-not-used",
             "The workshop's records could not be read, so the card is made without them. `pourwright learn "
             "check` says what is wrong."},
    NoteInfo{"leftovers-used",
             "Part of a piece is old cast pieces, broken up. They take up room, so that less fresh mix is "
             "needed."},
    NoteInfo{"light-after-dark",
             "A step tints what a darker step left. The dark pigment shows in it; order the steps from "
             "light to dark, or give the light one plain mix."},
    NoteInfo{
        "limit-binds",
        "This limit costs batches or time. With more of it, and everything else as it is, the plan would "
        "be so much shorter."},
    NoteInfo{"liquid-over",
             "The liquid already in the cup makes more than the molds take. The note says how much will be "
             "left: have small molds ready."},
    NoteInfo{"liquid-short",
             "The liquid already in the cup makes less than the molds take. Pour fewer molds, or weigh more "
             "liquid and start again from that."},
    NoteInfo{"loose-sheets", "Loose sheets of surface that enclose nothing were dropped."},
    NoteInfo{"mended",
             "The file was damaged and was mended before measuring. The note says what was changed; measure "
             "lists each kind with its effect on the volume."},
    NoteInfo{"missing-sides", "A side of the body was missing and was closed with a plane."},
    NoteInfo{"mold-by-name",
             "This mold has no file. What it holds is what its water fills say; its shape, air traps and "
             "walls are not known."},
    NoteInfo{"mold-differs-from-file",
             "Water fills and the mesh contradict each other. The mold was made to another size or filled to "
             "another level, or the mesh is read in another unit."},
    NoteInfo{"mold-file-changed",
             "Records of a mold with this name were made when its file had other content. They may be about "
             "another shape, so they are left out."},
    NoteInfo{"mold-not-there",
             "With --of mold the walls of the mold itself were asked for, but the file shows the piece or "
             "only the inside of the mold."},
    NoteInfo{"money-finer-than-coin",
             "The run file gives amounts in fractions of a currency that has no smaller coin. They are "
             "reckoned as said, as prices by the kilogram or the hour may be; if the currency was "
             "forgotten, name it in [price]."},
    NoteInfo{"no-opening",
             "A piece is filled through a flat side. This one has none on top, so everything that looks up "
             "counts as undercut; turn it with --up."},
    NoteInfo{"not-inspected",
             "Walls or release were not looked at. The note says why; pourwright inspect does it for meshes "
             "of any size."},
    NoteInfo{
        "nothing-held",
        "Read as a mold, but no cavity of it holds liquid in this position, so there is nothing to pour. "
        "Turn it with --up, open a closed void, or read it as the piece itself (--read-as piece)."},
    NoteInfo{"nothing-recorded",
             "The workshop has no records yet. `pourwright learn` with water, cup or pour makes the first."},
    NoteInfo{"overlap-not-checked",
             "With --quick nobody looked whether the surface cuts through itself. If it does, the volume is "
             "wrong."},
    NoteInfo{"past-working-time",
             "The steps take longer than the mix can be poured, counted from the powder going in. Fewer "
             "steps, more hands, a cooler room, or a second batch."},
    NoteInfo{"pieces-over",
             "One pour of this mold makes several pieces, and the number wanted is no multiple of it."},
    NoteInfo{"pigment-liquid-counted",
             "The pigment brings liquid of its own, by the liquid-share in the catalogue. The powder is "
             "weighed for it as well, so that the ratio stays what was asked."},
    NoteInfo{"pigment-near-ceiling", "The pigment is within a tenth of the most that the mix bears."},
    NoteInfo{"pigment-too-small",
             "The pigment of a cup is too little for the scale. Stir a larger amount into plain mix and take "
             "a share of that."},
    NoteInfo{"pigment-unknown",
             "A pigment is not in the catalogue. It is weighed as said, and only the mix's own ceiling "
             "limits it. List it in the workshop, or correct its name."},
    NoteInfo{"plan-not-repeated",
             "The sheet was kept from a plan whose steps share one mix, so its cups alone do not say how "
             "to split again. Run split with the plan and the new amount."},
    NoteInfo{"polygons-crossed",
             "Faces cross themselves or enclose nothing, so that the triangles made of them are a guess."},
    NoteInfo{"polygons-triangulated", "Faces with more than three corners were cut into triangles."},
    NoteInfo{"pour-time-assumed",
             "A folder says nothing about hours; 40 s are taken for each pour, so that no batch outlasts the "
             "working time of its mix. A run file has times of its own."},
    NoteInfo{"price-below-cost",
             "A piece is sold for less than it costs, fees and shipping included: after a discount, or "
             "with a negative markup."},
    NoteInfo{"ratio-drift",
             "Rounding to the scale's step moves the ratio by half a percent or more. A finer scale or a "
             "larger batch helps."},
    NoteInfo{"ratio-given",
             "The ratio was given with --ratio. The density of the mix was measured at another ratio; give "
             "--density too."},
    NoteInfo{"ratio-of-room",
             "The workshop has found another ratio for this temperature ([[mix.room]]), which is used within "
             "2 °C of it. Everywhere else the mix keeps its own."},
    NoteInfo{"ratio-shifted",
             "A pigment brings liquid of its own, which thins the mix of its cup: powder to liquid there "
             "is what the note says. Use a stronger paste, or less of it."},
    NoteInfo{"read-as-mold",
             "The file was taken for a mold, because it holds liquid. --read-as piece takes it for the piece "
             "itself."},
    NoteInfo{"read-as-piece",
             "The file was taken for the piece itself, so its own volume is cast. --read-as mold reads it as "
             "a mold."},
    NoteInfo{"read-as-scan",
             "The surface is open with one rim, so it was taken for a scan of a mold's inside."},
    NoteInfo{"reader-warning",
             "The library that reads this format found something odd in the file. What it said stands in the "
             "note."},
    NoteInfo{
        "recentred",
        "The mesh lay so far from the origin that an STL file's numbers would have lost digits of it. It "
        "was moved by whole millimetres; .ply and .obj keep it where it is."},
    NoteInfo{"record-doubtful",
             "A record that cannot be right is left out and named with the slip it most likely is: another "
             "unit, a tare left in, another number of copies, another mold. Withdraw it and record it again, "
             "with --believe if it was right after all."},
    NoteInfo{
        "record-set-aside",
        "A record contradicts the others so strongly that it is left out of the estimate. It is named, so "
        "that you can withdraw it or measure again."},
    NoteInfo{"recorded",
             "The batch is kept as a sheet in the ledger. records shows it, repeat weighs it again in "
             "another size."},
    NoteInfo{"records-agree-not-file",
             "Water fills that were left out agree with each other: then the mold differs from its file, or "
             "the file is read in another unit. Record one with --believe and the file is left out instead."},
    NoteInfo{"records-disagree",
             "The records lie further apart than weighing explains. What follows from them is stated as that "
             "much less sure."},
    NoteInfo{"records-not-used",
             "Water fills tell what a mold holds to the brim. This card fills it otherwise, so they do not "
             "apply."},
    NoteInfo{"rejects-planned",
             "Of what is poured the share named as failed comes out spoilt, so that more is poured than is "
             "wanted, "
             "up to a whole piece. Lower failed in [price] when fewer are."},
    NoteInfo{
        "rim-bite",
        "The rim of a scan stands level all round but for one place, where the mold spills: a spout, or a "
        "piece that the scan lost. The note says what it would hold with the rim whole; missing wall counts "
        "as upright."},
    NoteInfo{"rim-leans",
             "The plane of the rim is not level as the file stands, so the mold spills over its low side "
             "early. --up rim stands it level; if the mold leans on purpose, nothing needs to be done."},
    NoteInfo{"room-outside-rule",
             "The rule that shifts times with the temperature of the room holds from 5 to 35 °C; beyond it "
             "the times of "
             "its end are shown. Try a small batch, and write what you find into the mix as a [[mix.room]]."},
    NoteInfo{"rounded-down",
             "The amount is not a whole number of the scale's steps. No more can be poured than is there."},
    NoteInfo{"run-allowance",
             "How much is added to each pour, by the same forecast as on a card; what stays in bucket and "
             "cups is counted apart."},
    NoteInfo{
        "scale-capacity-assumed",
        "Only the step of the scale was said. It is taken to carry 5000 steps; correct `capacity` in the "
        "workshop's file."},
    NoteInfo{"scale-known",
             "The file has no scale of its own; it was scaled so that the size given with --known is right."},
    NoteInfo{"scale-overloaded",
             "Cup and mix together are heavier than the scale carries. Weigh the powder in a second vessel, "
             "or mix two batches."},
    NoteInfo{"several-objects", "The file places several objects; they were read as one mesh."},
    NoteInfo{"several-solids", "The file holds several solids; they were read as one mesh."},
    NoteInfo{"shared-edges",
             "More than two triangles meet along some edges, as where two bodies touch in a line. Volumes "
             "are exact all the same."},
    NoteInfo{"shared-faces",
             "Bodies of the file share faces, of which both copies were dropped: the bodies are one there."},
    NoteInfo{"shells-turned",
             "Closed shells of the file faced inwards and were turned before bodies were united."},
    NoteInfo{
        "side-hole",
        "A hole in the wall lies below the rim, so the mold holds only up to it. Plug it, or fill lower."},
    NoteInfo{"small-mold",
             "Beside the large mold the file has another body that holds something, less than a thousandth "
             "of the whole. It is not poured with the rest. Put it into a file of its own, or list it with "
             "--dips."},
    NoteInfo{
        "solid-uncertain",
        "What the mold holds is sure, but the mold's own volume is not: damage that was mended lies on its "
        "outside. Only the volume of the solid is left out."},
    NoteInfo{"step-too-coarse",
             "A part weighs fewer than 50 steps of the scale, so rounding alone moves it by more than one "
             "percent. "
             "Use a finer scale (--scale-step) or make a larger batch."},
    NoteInfo{
        "stl-count",
        "The number of triangles in the header is not what the file holds; what the file holds was read."},
    NoteInfo{"stock-from-ledger",
             "The run file does not say what is in stock of these, so the ledger's figure was taken: what "
             "was bought, less "
             "what was used and poured since. `stock` in the file's [[supply]] goes before it."},
    NoteInfo{"stock-to-count",
             "By its records, more of this was used than was ever bought, so what is left is not known. "
             "Weigh it and record "
             "it with `pourwright learn counted`."},
    NoteInfo{"support-skipped",
             "Supports and auxiliary objects of a 3MF file are not part of the piece and were left out."},
    NoteInfo{"surplus-pieces",
             "A pour makes more pieces than the order wants. With surplus = \"kept\" they wait to be sold "
             "and the price is that of one piece; with \"charged\" those that are wanted pay for them."},
    NoteInfo{"swatch-stretched",
             "A dose is more than half again that of the swatch it is guessed from. Dry a swatch with about "
             "the dose you "
             "mean to use."},
    NoteInfo{"t-junctions", "Edges were split where a point of a neighbour lies on them."},
    NoteInfo{
        "table",
        "The table or turntable was scanned along with the mold: a wide flat sheet under it that hangs on "
        "nothing. It was cut off."},
    NoteInfo{"thin-walls",
             "Part of the piece is thinner than the limit of the mix (or --min-wall). It is no high risk, "
             "but handle it with care."},
    NoteInfo{"times-at-room",
             "Working and demold times were shifted to the temperature of the room: from the nearest "
             "temperature they are known for, halved for every 10 °C more. That is a guide, as for epoxies, "
             "good from 5 to 35 °C; gypsum sets no faster above about 37 °C. Watch the first batch."},
    NoteInfo{"too-slow-to-pour",
             "Pouring all these molds takes longer than the mix can be poured, at 40 s a mold. Mix several "
             "batches, or let a run plan them."},
    NoteInfo{"trailing-bytes", "Something follows the last triangle; it was left out."},
    NoteInfo{"undercut",
             "The mold hangs over part of the piece, so that it cannot be pulled straight out. A flexible "
             "mold must stretch as far as the note says; a rigid one needs another part."},
    NoteInfo{"uneven-rim",
             "The scan's rim goes up and down. The first dent is where it would spill; the interval reaches "
             "to the rim's "
             "typical height."},
    NoteInfo{"unit-assumed", "The format carries no unit. Millimetres were assumed; --unit says otherwise."},
    NoteInfo{"unit-from-file", "The file states its unit, and it was used. --unit overrides it."},
    NoteInfo{"unit-given", "The unit was given with --unit."},
    NoteInfo{"unit-micron",
             "The file is written in micrometres; a thousand of them were taken as a millimetre."},
    NoteInfo{"unit-other", "The file states a unit of its own, and lengths were converted to millimetres."},
    NoteInfo{"unit-unlikely",
             "The size makes no sense for a casting mold, so the unit is probably wrong. The note says which "
             "--unit would fit."},
    NoteInfo{
        "united",
        "Bodies that touch or overlap were made one, so that nothing is counted twice and no seam leaks."},
    NoteInfo{"unknown-lines", "Lines of the file were not understood and left out."},
    NoteInfo{"up-chosen",
             "With --up auto the program chose which way is up; the note says why. --up +z and the like "
             "decide it."},
    NoteInfo{"wholesale-below-cost",
             "The wholesale price does not cover what the piece costs. Give a smaller wholesale-discount, "
             "or a wholesale-markup instead, which counts from the cost."},
    NoteInfo{"workshop-prices-not-used",
             "The workshop's catalogue states prices in another currency than the run file, so they were "
             "left out. Name the same currency in both, or give the prices in the run file."},
    NoteInfo{"wrapped",
             "Nothing else closed the surface, so a skin was drawn round it, a little outside of it. The "
             "interval holds "
             "what that can change."},
    NoteInfo{"y-up", "In this format +y is usually up, here +z. --up +y turns it."}};

}  // namespace

std::span<const NoteInfo> all_notes() {
  return known_notes;
}

}  // namespace pourwright
