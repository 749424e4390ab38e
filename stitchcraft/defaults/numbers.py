"""Every default and limit, each with its source; what fabrics ask for is in `stitchcraft.defaults.fabrics`.

A row says where its number comes from: a publication, a derivation from one, or the plain words "common
practice, no source". "From memory" marks a value that was not re-read. All lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

COMMON: Final = "common practice, no source"
PRINTWEAR_2016: Final = "Printwear, February 2016, pp. 61-63"
IMAGES_2021: Final = "Images (UK), May 2021"
IMAGES_2022: Final = "Images (UK), February 2022, p. 69"

STANDARD_WEIGHT: Final = 40.0
"""The thread weight that spacings and limits are stated for. A weight number counts lengths to a mass, so that a
thread's cross-section, and with it what a penetration asks of the cloth, goes with 40 / weight (derived)."""

STANDARD_WIDTH_MM: Final = 0.40
"""Width that thread of that weight covers (mrxstitch.com, on pull compensation)."""


def thread_width(weight: float) -> float:
    """Width in mm that a thread of a weight covers: it goes with the square root of the cross-section."""
    return STANDARD_WIDTH_MM * (STANDARD_WEIGHT / weight) ** 0.5


@dataclass(frozen=True, slots=True)
class Default:
    """A number, what it is, and where it comes from."""

    value: float
    what: str
    source: str


BAG: Final[dict[str, Default]] = {
    "seam": Default(6.35, "seam allowance of the bag's side and bottom seams (1/4 in)", COMMON),
    "lining_seam": Default(12.7, "side-seam allowance of the lining (1/2 in), so that it sits inside", COMMON),
    "seam_metric": Default(6.0, "the bag's seam allowance where a spec is measured in mm or cm", COMMON),
    "lining_seam_metric": Default(12.0, "the lining's, where a spec is measured in mm or cm", COMMON),
    "wall": Default(4.0, "thickness of the finished wall at its top edge", COMMON),
    "binding_strip": Default(63.5, "width of the binding strip before folding (2 1/2 in)", COMMON),
    "binding_depth": Default(6.35, "binding's stitch line below the top edge (1/4 in)", COMMON),
    "binding_overlap": Default(101.6, "extra length of the binding strip (4 in)", COMMON),
    "stiffener_ease": Default(3.0, "base stiffener smaller than the base, each side", COMMON),
    "feet_inset": Default(20.0, "feet in from the edges of the base (3/4 in in one published pattern)", COMMON),
    "allowance": Default(6.35, "allowance left around a tab before turning, and above its mouth (1/4 in)", COMMON),
    "closure_miss": Default(1.0, "largest miss between the tab's snap and its target", COMMON),
    "strap_spacing_share": Default(0.43, "strap centre to strap centre, share of the panel's width", COMMON),
    "standing_least": Default(20.0, "lowest that a bag may stand", COMMON),
    "shaping_down": Default(38.1, "shaping snaps below the top edge (1 1/2 in)", COMMON),
    "shaping_over": Default(50.8, "shaping snaps in from the side seam (2 in)", COMMON),
    "strap_spacing_most": Default(
        152.4, "widest strap spacing by default (6 in): a bridge over it still fits a 130x180 field", COMMON
    ),
    "strap_turn": Default(12.7, "folded under at each end of a strap (1/2 in)", COMMON),
    "basted_inside": Default(1.5, "a basting line nearer to the raw edge than the seam that hides it", COMMON),
    "strap_width": Default(25.4, "width of a strap (1 in)", COMMON),
    "hoop_margin": Default(40.0, "cloth past the sewing field on each side, for the frame to hold", COMMON),
    "laid_margin": Default(12.7, "cloth laid on in the hoop past its placement line, all round (1/2 in)", COMMON),
    "fabric_width": Default(1066.8, "usable width of cloth off the bolt (42 of 44 in)", COMMON),
    "fabric_width_metric": Default(1050.0, "the same of cloth sold by the metre (105 of 110 cm)", COMMON),
    "stiffener_corner": Default(
        6.35, "corners of a base stiffener trimmed by this (1/4 in)", "nebraskaviews.blogspot.com"
    ),
    "turning_gap": Default(130.0, "gap in a lining's bottom seam to turn a bag through (about 5 in)", COMMON),
    "thread_margin": Default(0.15, "thread bought past the estimate, for ends cut off", "trade texts: 10 to 20 %"),
}

PARTS: Final[dict[str, Default]] = {
    "tab_width": Default(76.2, "width of a closure tab (3 in)", COMMON),
    "tab_width_share": Default(0.25, "largest width of a default tab, share of the panel's width", COMMON),
    "snap_diameter": Default(18.0, "magnetic snap (14 and 18 mm are common)", "zipperzoo.net, size table"),
    "snap_inset": Default(25.4, "tip of the tab to the snap's centre (1 to 1 1/2 in)", "mpcomagnetics.com, tutorial"),
    "snap_prongs": Default(10.0, "prong to prong of a magnetic snap (about 8 to 11)", "from memory"),
    "snap_slit": Default(5.0, "length of a prong's slit (prongs are 3 to 5 wide)", "from memory"),
    "snap_keepout": Default(5.0, "no needle nearer to the snap's rim than this", COMMON),
    "snap_backing": Default(38.1, "square of stiffener behind a fastener (1 1/2 in)", "sewfearless.com, 2015"),
    "sew_in_diameter": Default(18.0, "sew-in snap", COMMON),
    "sew_in_holes": Default(4, "holes in the rim of a sew-in snap", COMMON),
    "lock_width": Default(34.0, "plate of a turn lock, across the tab", "from memory"),
    "lock_height": Default(20.0, "plate of a turn lock, along the tab", "from memory"),
    "lock_hole_width": Default(20.0, "oval hole of a turn lock, across the tab", "from memory"),
    "lock_hole_height": Default(8.0, "oval hole of a turn lock, along the tab", "from memory"),
    "lock_post_prongs": Default(12.0, "prong to prong of a turn lock's post", "from memory"),
    "lock_slit": Default(4.0, "length of a turn lock's slits", "from memory"),
    "lock_inset": Default(38.1, "tip of the tab to the middle of a turn lock (1 1/2 in)", COMMON),
    "lock_rim": Default(2.0, "metal between a turn lock's hole and its rim, at least", "from memory"),
    "button_diameter": Default(20.0, "button of a tab (32 ligne is 20.3 mm)", COMMON),
    "button_thickness": Default(4.0, "thickness of that button", COMMON),
    "buttonhole_bead": Default(2.0, "width of a buttonhole's satin on each side of the cut", COMMON),
    "buttonhole_gap": Default(1.0, "between the beads of a buttonhole, for the cut", COMMON),
    "buttonhole_bar": Default(2.0, "length of the bar at each end of a buttonhole", COMMON),
    "buttonhole_rest": Default(
        3.2, "a button rests this far inside the end of a buttonhole that lies along the pull (1/8 in)", COMMON
    ),
    "buttonhole_clear": Default(2.0, "plain cloth around a buttonhole", COMMON),
    "tab_thickness": Default(4.0, "thickness of a finished tab, which a button's shank bridges", COMMON),
    "turn_point": Default(1.0, "least radius of a curve that bends outward and is turned", COMMON),
    "turned_thickness": Default(2.0, "a tab as it is turned: two cloths and what is left of their stabilizer", COMMON),
    "batting_thickness": Default(3.2, "batting (about 1/8 in)", "thequiltorchard.blogspot.com, 2013"),
    "turned_packing": Default(0.6, "share of cloth in the bundle that is turned through a mouth", COMMON),
    "ticks_apart": Default(15.0, "upper and lower alignment ticks at least this far apart", COMMON),
    "mark_hidden": Default(0.8, "a mark that metal or a button hides lies this far inside its rim", COMMON),
    "shaping_snap": Default(14.0, "diameter of a shaping snap", "zipperzoo.net, size table"),
    "closure_drop": Default(76.2, "top edge to snap centre (3 in)", COMMON),
    "tick_length": Default(6.0, "length of an alignment tick", COMMON),
    "tick_gap": Default(1.5, "alignment tick outside the trimmed allowance by at least this", COMMON),
    "batting_inset": Default(2.0, "batting kept inside the seam by this, so that the allowances stay thin", COMMON),
    "cover_width": Default(3.5, "width of a cover stitch", COMMON),
    "cover_narrowest": Default(2.0, "narrowest cover stitch that hides a cut edge", IMAGES_2022),
    "tack_inset": Default(1.0, "tack-down inside the placement line by this", COMMON),
    "decoration_clearance": Default(1.0, "decoration kept off a seam or a cover stitch by this", COMMON),
    "decoration_seam_clearance": Default(3.0, "decoration of a tab kept off its seam by this", COMMON),
    "decoration_past_seam": Default(
        4.0, "decoration of an accent past a seam line, so that it runs on across it", COMMON
    ),
    "label_width": Default(60.0, "width of a label's lettering", COMMON),
    "label_margin": Default(8.0, "cloth around the lettering inside the label's outline", COMMON),
    "lettering_lowest": Default(4.0, "lowest capital that reads in running or triple stitch", COMMON),
    "accent_share": Default(0.29, "width and height of a default corner accent, share of the panel's width", COMMON),
    "accent_most": Default(110.0, "largest default corner accent: it fits a 130x180 field", COMMON),
    "connector_height": Default(50.8, "height of a bridge connector (2 in)", COMMON),
    "connector_clear": Default(4.0, "a default connector clear of the top edge by this, cover stitch included", COMMON),
    "connector_margin": Default(8.0, "a connector past the strap it holds, each side (5/16 in)", COMMON),
    "basting_margin": Default(5.0, "basting box outside the part by this", COMMON),
    "basting_length": Default(6.0, "stitch length of a basting box", COMMON),
    "cross_arm": Default(4.0, "arm of a cross by which a second hooping is laid on the first", COMMON),
    "cross_clear": Default(3.0, "such a cross off the stitching by this", COMMON),
    "uncut_element": Default(20.0, "an element up to this long is not divided between two hoopings", COMMON),
    "cut_overlap": Default(1.0, "two hoopings of one part overlap by this at a cut, so that no cloth shows", COMMON),
    "cut_join": Default(5.0, "ends of rows cut next to each other are joined by a stitch up to this long", COMMON),
    "hooping_gap": Default(
        6.35, "between what two parts in one hooping cover, stitches and cut edges, to cut them apart (1/4 in)", COMMON
    ),
}

PLANNING: Final[dict[str, Default]] = {
    "longest_move": Default(12.0, "longest stitch or jump", "pyembroidery 1.5.1 writers: DST takes 12.1, XXX 12.3"),
    "satin_split": Default(
        7.0, "a satin line wider than this is split", "trade compilation 2016 (split at 7); handled bag parts"
    ),
    "satin_narrowest": Default(1.0, "narrowest satin", PRINTWEAR_2016),
    "satin_widest": Default(9.0, "widest satin before it is split", PRINTWEAR_2016),
    "run_curve_shortest": Default(0.5, "shortest running stitch that a bend asks for", COMMON),
    "shortest_stitch": Default(0.3, "shortest stitch that the planner leaves (lock stitches: 0.3 to 0.5)", COMMON),
    "lock_stitch": Default(
        1.0, "length of a lock stitch (0.5 to 1); it goes half of one back, and 0.5 still holds", COMMON
    ),
    "lock_count": Default(3, "stitches in a lock (2 to 4)", COMMON),
    "trim_over": Default(3.0, "a jump longer than this is trimmed", COMMON),
    "trims_share": Default(
        0.5, "share of a stop's minutes that go on trims, past which it is said", "our own: more than on its stitches"
    ),
    "trims_fewest": Default(20, "fewer trims in a stop are not worth a word", COMMON),
    "sewn_gap": Default(1.0, "a gap between two runs up to this is sewn over, not jumped", COMMON),
    "underlay_length": Default(2.5, "stitch length of underlay (2 to 3)", "trade compilation 2016, p. 52"),
    "underlay_edge_inset": Default(0.6, "edge run inside the edge (at least 0.6 to 0.8)", IMAGES_2022),
    "underlay_centre_below": Default(1.5, "satin narrower than this takes a centre run only", IMAGES_2022),
    "underlay_zigzag_from": Default(4.0, "satin at least this wide takes a zigzag over the edge run", COMMON),
    "underlay_zigzag_pitch": Default(2.0, "pitch of a zigzag underlay", COMMON),
    "underlay_fill_spacing": Default(2.0, "row spacing of a cross-grain fill underlay", IMAGES_2022),
    "shared_hole": Default(0.2, "holes of lines nearer than this become one: half the width of a thread", COMMON),
    "needle_gap": Default(
        0.3,
        "two needle points of a column no nearer than this with 40-weight thread, and as much more as it is thicker: a "
        "rule of planning, three quarters of the thread's width; said is what is nearer than half of it",
        COMMON,
    ),
    "needle_aim": Default(
        0.35,
        "that gap as planned, as the thread is wide: rounding to 0.1 mm may bring two needle points nearer by 0.14, "
        "mostly by 0.05",
        "derived",
    ),
    "needles_close_share": Default(
        0.05,
        "share of a stop's needle points nearer than half a thread's width to another, past which it is said",
        COMMON,
    ),
    "needles_close_fewest": Default(12, "so few needle points that crowd are no fault of the layout", COMMON),
    "fill_narrowest": Default(0.8, "an area nowhere wider is sewn as a run along its middle", IMAGES_2021),
    "fill_narrow_run": Default(2.0, "stitch length of that run (1.5 to 2 at best)", PRINTWEAR_2016),
    "row_end_shortest": Default(1.0, "shortest stitch at the end of a fill row", "Printwear, December 2016, p. 30"),
    "travel_clearance": Default(0.5, "travel under a fill kept off its edge by this", COMMON),
    "travel_shortest": Default(0.8, "shortest stitch of travel under a fill", COMMON),
    "travel_overhang": Default(3.0, "a turn between fill rows may lie this far over sewn rows", COMMON),
    "sheet_margin": Default(
        25.0, "bare cloth around the stitching, out to the frame, in the model of how cloth is drawn together", COMMON
    ),
    "density_stop": Default(
        18.0, "penetrations in any 1 mm2, with 40-weight thread, past which the cloth is likely cut", COMMON
    ),
    "layers_most": Default(
        6.0, "layers of thread, mean of 5 mm by 5 mm, past which a part is stiff and needles bend", COMMON
    ),
}

_PAPERS: Final = "no paper with a limit was found: " + COMMON

DENSITY: Final[dict[str, Default]] = {
    "quilting cotton": Default(PLANNING["density_stop"].value, "yarns that move aside for the needle", _PAPERS),
    "canvas": Default(PLANNING["density_stop"].value, "yarns that move aside for the needle", _PAPERS),
    "denim": Default(PLANNING["density_stop"].value, "yarns that move aside for the needle", _PAPERS),
    "felt": Default(PLANNING["density_stop"].value, "fibres that close around the thread", _PAPERS),
    "minky": Default(PLANNING["density_stop"].value, "loops that a needle may cut lie deep in the pile", _PAPERS),
    "faux leather": Default(
        12.0,
        "a coat in which every hole stays open",
        "the limit of woven cloth by the ratio of the satin pitches, 0.40 to 0.60: derived; " + _PAPERS,
    ),
}
"""Penetrations in any 1 mm2, with 40-weight thread, past which each fabric is likely cut; thread of another weight
counts by its cross-section. A fabric of the maker's own takes `PLANNING["density_stop"]`."""

DECORATION: Final[dict[str, Default]] = {
    "shortest_piece": Default(1.5, "shortest piece of a pattern that is sewn", PRINTWEAR_2016),
    "grazing": Default(0.6, "a clipped line that stays nearer to the edge than this is left out", COMMON),
    "most_repeats": Default(
        10_000, "most repeats of a pattern in one area", "our own: past it planning takes hours and sewing days"
    ),
    "dot_pitch": Default(7.0, "dot centre to nearest dot centre", COMMON),
    "dot_diameter": Default(3.0, "diameter of a dot", COMMON),
    "dot_smallest": Default(1.2, "smallest dot of a pattern that fades: under it a satin is narrower than 1", COMMON),
    "hatch_pitch": Default(9.0, "line to line of a crosshatch (quilting: 1/4 to 1 in)", COMMON),
    "ring_pitch": Default(12.0, "ring centre to ring centre", COMMON),
    "ring_share": Default(1.25, "diameter of a ring, share of the pitch: above 1 they interlock", COMMON),
    "clamshell_pitch": Default(16.0, "width of a clamshell", COMMON),
    "petal_pitch": Default(14.0, "length of a petal, tip to tip", COMMON),
    "petal_gap": Default(0.3, "a satin petal inside its circles by this, so that neighbours do not crowd", COMMON),
    "scallop_pitch": Default(12.0, "width of a scallop", COMMON),
    "scallop_depth": Default(0.29, "depth of a scallop, share of its width", COMMON),
    "scallop_spacing": Default(0.5, "row to row of scallops, share of their width", COMMON),
    "echo_pitch": Default(6.0, "parallel to parallel of an echo (quilting: 1/4 in)", COMMON),
    "meander_pitch": Default(6.0, "line to neighbouring line of a meander (quilting: 1/4 in and up)", COMMON),
    "wave_pitch": Default(24.0, "length of a wave", COMMON),
    "wave_depth": Default(0.25, "trough to crest of a wave, share of its length", COMMON),
    "wave_spacing": Default(0.25, "row to row of waves, share of their length", COMMON),
    "chevron_pitch": Default(16.0, "peak to peak of a chevron", COMMON),
    "chevron_depth": Default(0.5, "foot to peak of a chevron, share of its width", COMMON),
    "chevron_spacing": Default(0.375, "row to row of chevrons, share of their width", COMMON),
}

ARTWORK: Final[dict[str, Default]] = {
    "file_bytes": Default(2_000_000, "largest SVG file read", "our own, against hostile files"),
    "depth": Default(64, "deepest nesting of elements, uses included", "our own, against hostile files"),
    "elements": Default(5_000, "most elements in a drawing, each use counted", "our own, against hostile files"),
    "commands": Default(30_000, "most path commands in a drawing", "our own, against hostile files"),
    "points": Default(500_000, "most points in a drawing once its curves are lines", "our own, against hostile files"),
    "hairline": Default(0.2, "a drawn line finer than this is noted: thread of weight 40 is about 0.4 mm", COMMON),
    "running_to": Default(0.8, "a drawn line up to this width is sewn as a running stitch", COMMON),
    "blob_from": Default(3.0, "a drawn area as wide as this and little longer than wide is filled, not satin", COMMON),
    "most_colours": Default(6, "a drawing in more colours is noted: each is a change of thread", COMMON),
    "triple_to": Default(1.2, "a drawn line up to this width is sewn as a triple stitch, a wider one as satin", COMMON),
}

LETTERS: Final[dict[str, Default]] = {
    "satin_stroke": Default(
        0.6, "thinnest stroke of a satin letter as drawn: widened to satin's least it still looks thin", COMMON
    ),
    "satin_gap": Default(0.4, "narrowest opening of a satin letter: a thread's width of cloth shows in it", "derived"),
    "satin_widest": Default(
        9.0, "widest stroke of a letter that is sewn as satin unless asked otherwise", PRINTWEAR_2016
    ),
    "fill_stroke": Default(
        2.0, "thinnest stroke of a filled letter: two of the shortest stitches at a row's end", COMMON
    ),
    "fill_gap": Default(0.4, "narrowest opening of a filled letter", "derived"),
    "running_stroke": Default(
        1.2,
        "thinnest stroke of a letter sewn along its outline: two threads with as much cloth between",
        "derived from a thread's width, 0.4",
    ),
    "running_gap": Default(0.8, "narrowest opening of such a letter: a thread's width of cloth shows in it", "derived"),
    "triple_stroke": Default(1.5, "the same for a triple stitch, which is half as wide again", COMMON),
    "triple_gap": Default(1.0, "the same for a triple stitch", COMMON),
    "monogram_outer": Default(0.62, "outer letters of a monogram of three, share of the middle one's height", COMMON),
    "monogram_gap": Default(0.1, "between letters of a monogram, share of the largest one's height", COMMON),
    "frame_clear": Default(0.14, "between a monogram and its frame, share of its height", COMMON),
    "frame_width": Default(2.0, "satin of a monogram's frame", COMMON),
}

_FRAME_TABLE: Final = "a hoop maker's public size table"
_FILE_TABLE: Final = "pyembroidery 1.5.1, table of the JEF writer"

FRAMES: Final[dict[str, tuple[int, int, str]]] = {
    "2x2 frame": (50, 50, _FILE_TABLE),
    "4x4 frame": (100, 100, _FRAME_TABLE),
    "5x7 frame": (130, 180, _FRAME_TABLE),
    "6x10 short frame": (150, 240, "trade blogs"),
    "8x8 frame": (200, 200, _FRAME_TABLE),
    "6x10 frame": (160, 260, _FRAME_TABLE),
    "8x10 frame": (200, 260, _FRAME_TABLE),
    "8x12 frame": (200, 300, _FRAME_TABLE),
    "9x12 frame": (230, 300, _FRAME_TABLE),
    "14x8 frame": (360, 200, _FRAME_TABLE),
    "9x14 frame": (230, 360, "trade lists"),
    "110 square": (110, 110, _FILE_TABLE),
    "126x110": (126, 110, _FILE_TABLE),
    "140x200": (140, 200, _FILE_TABLE),
}
"""Nominal sewing fields of the trade by what their frames are called: width and height in mm, and a source. An inch
name is no measure: a 4x4 frame sews 100 mm, not 101.6. Names by mm are of fields whose frames have no common one."""

COLOURS: Final[dict[str, Default]] = {
    "on_cloth": Default(
        20.0, "CIE 1976 colour difference under which thread hardly shows on cloth; set by eye on pictures", COMMON
    ),
    "alike": Default(5.0, "CIE 1976 colour difference under which two threads are easily confused", COMMON),
}

MACHINE: Final[dict[str, Default]] = {
    "speed": Default(600, "stitches a minute (600 to 750 for an average design)", "theembroiderywarehouse.com"),
    "trim_seconds": Default(8, "a trim (each stop 6 to 20)", "theembroiderywarehouse.com"),
    "rethread_seconds": Default(60, "changing the thread of a single-needle machine", COMMON),
    "placing_seconds": Default(90, "placing or trimming cloth (60 to 120)", COMMON),
    "stack_thickness": Default(
        1.0,
        "cloth and stabilizer under the needle, for the thread estimate: with it a mixed design of 3 mm stitches "
        "uses 5 m of top and 3 m of bobbin thread per 1,000",
        "fitted to the thread makers' 5 m and 3 m per 1,000 stitches",
    ),
}

PALETTE: Final[dict[str, str]] = {
    "accent": "#2f5d62", "edge": "#d9a441", "detail": "#f2efe6", "mark": "#3a3a3a", "seam": "#8a8f98",
}  # fmt: skip
"""Thread colours of a kit that names none; our own choice."""

CLOTH: Final = "#e9e4da"
"""Colour of the cloth behind a picture; our own choice."""
