"""The spec that a maker starts from: every key there is, explained, the common ones live and the rest as comments."""

from __future__ import annotations

from stitchcraft.errors import ParameterError
from stitchcraft.spec.files import quoted
from stitchcraft.spec.keys import NAME


def spec_text(name: str = "My bag") -> str:
    """Write a commented spec, in inches, that `stitchcraft.spec.read_spec` accepts as it stands.

    Args:
        name: The bag's name, a title for people.

    Raises:
        ParameterError: If the name is blank, too long, or has characters that cannot be printed.

    Example:
        >>> print(spec_text("Heron tote").splitlines()[5])
        name  = "Heron tote"
    """
    if not NAME.takes(name):
        raise ParameterError("name", name, NAME.needs)
    return _TEMPLATE.replace("NAME", quoted(name), 1)


_TEMPLATE = """\
# A bag spec for stitchcraft. Change what differs on your bag; whatever you leave out suits itself to the bag.
# A line that starts with # is a comment: take the # away to use the key.
# Lengths are numbers in the unit below, or texts in quotes: "2 1/2 in", "15 3/8", "64 mm", "6.4 cm".
# Make the kit with:  stitchcraft make THIS-FILE.toml -o kit

name  = NAME
units = "in"                  # what a number without a unit counts as, and what papers say first: mm, cm or in
# parts = ["tab", "corner"]   # make only these: tab, corner, connector, label, shaping-marks, snap-mark

[bag]                         # finished sizes
width  = 14                   # panel, side seam to side seam, laid flat
height = 12                   # panel, top edge to bottom seam, laid flat
depth  = 4                    # boxed base; 0 for a flat bag
# seam = "1/4 in"             # seam allowance of the bag's side and bottom seams
# lining_seam = "1/2 in"      # side-seam allowance of the lining, more than the bag's so that it sits inside
# wall = "4 mm"               # thickness of the finished wall at its top edge
# top  = "bound"              # how the top edge is finished: bound (with a strip) or turned
# binding = { strip = "2 1/2 in", depth = "1/4 in", overlap = "4 in" }   # width unfolded, stitch line, extra length
# shaping = { down = "1 1/2 in", over = "2 in" }                         # a pair of snaps a side: place of each
# straps  = { spacing = 6, width = 1 }                                   # centre to centre; width of a strap
# straps  = "none"                                                       # a clutch or a pouch without straps

[machine]
hoops   = ["130x180", "100x100"]   # the sewing fields you have, width x height in mm; a part takes the smallest
# hoops = ["5x7 frame"]            # or by the name of the frame: `stitchcraft fields` lists them
formats = ["dst", "pes"]           # files to write: dst, pes, jef, exp, vp3, pec, xxx, u01, tbf
# speed  = 600                     # stitches a minute, for the time on the worksheet
# trims  = true                    # true if the machine cuts its own threads
# trim_over = "3 mm"               # a jump longer than this is cut; shorter ones are left to lie
# basting = false                  # true sews a box around each part first, to hold the cloth
# margin = 0                       # kept free inside the edge of the sewing field

[hooping]                          # beyond a hooping for each part
# share = false                    # true sews parts of the same cloth together where a field takes them
# bags = 1                         # bags made at a time, 1 to 50; their loose parts may share too
# gap = "1/4 in"                   # between two parts in a hooping, to cut them apart
# grain = true                     # false lets loose parts lie at other angles than along one grain
# split = false                    # true sews a part that fits no field in several hoopings

[material]
fabric = "quilting cotton"         # quilting cotton, canvas, denim, felt, faux leather or minky
# A fabric of your own, lengths in mm whatever the unit above; what you leave out is as for quilting cotton:
# fabric = { name = "my linen", pull = 0.15, pull_share = 0.02, satin_pitch = 0.42, row_spacing = 0.28, \
fill_length = 4, run_length = 2.5, triple_length = 2.5, seam_length = 2, underlay = true, strain = 0, stiffening = 0, \
directions = [{ angle = 0, pull = 0.15, pull_share = 0.02 }, { angle = 90, pull = 0.12, pull_share = 0.02 }] }
# (`stitchcraft swatch` and `stitchcraft calibrate` measure the pull; strain above 0 reshapes large filled areas)
# cloth = "#e9e4da"                # colour of the outer cloth: pictures show it, and thread that is lost on it is told
# accent_cloth = "#f3eee2"         # colour of the cloth of accents and connectors, if it is another
# thread = 40                      # weight number of the embroidery thread; a larger number is finer
# palette = { accent = "#2f5d62", edge = "#d9a441", detail = "#f2efe6", mark = "#3a3a3a", seam = "#8a8f98", \
drawn = { "#c03020" = "#a03040" } }
# (drawn: threads for the colours of drawings, each a colour or one of the five keys before it)

[prices]                           # what a unit costs, for the worksheet; what is left out is not counted
# currency = "EUR"
# thread = 0.008                   # a metre of needle thread
# bobbin = 0.003                   # a metre of bobbin thread
# cloth = 14                       # a square metre of cloth
# stabilizer = 4                   # a square metre of stabilizer
# fastener = 1.2                   # the tab's fastener, or one shaping snap
# hour = 20                        # an hour at the machine, its own time and that of your hands

[style]                            # what the parts have in common
decoration = { kind = "crosshatch", pitch = "10 mm" }
# Other decorations; each line shows all the keys that the kind takes:
# (edge says what becomes of motifs that the edge cuts: "clip" cuts them too, "whole" leaves them out, "fade" lets
# dots, motifs and satin petals shrink towards it; shift moves the pattern, right and up)
# decoration = { kind = "dots", pitch = "7 mm", diameter = "3 mm", layout = "hexagonal", angle = 0, edge = "fade", \
stitch = "satin", inset = "1 mm", shift = [0, 0], joined = false }
# decoration = { kind = "crosshatch", pitch = "10 mm", angle = 45, edge = "whole", stitch = "running", \
inset = "1 mm", shift = [0, 0], border = true }
# decoration = { kind = "rings", pitch = "12 mm", diameter = "16 mm", angle = 0, edge = "clip", stitch = "triple", \
inset = "1 mm", shift = [0, 0], border = true }
# decoration = { kind = "clamshell", pitch = "10 mm", angle = 0, edge = "clip", stitch = "running", \
inset = "1 mm", shift = [0, 0], border = true }
# decoration = { kind = "petals", pitch = "12 mm", angle = 0, edge = "clip", stitch = "running", \
inset = "1 mm", shift = [0, 0], border = true }
# decoration = { kind = "scallops", pitch = "8 mm", depth = "2.5 mm", spacing = "4 mm", angle = 0, edge = "clip", \
stitch = "running", inset = "1 mm", shift = [0, 0], border = true, joined = false }
# decoration = { kind = "waves", pitch = "14 mm", depth = "4 mm", spacing = "4 mm", angle = 0, edge = "clip", \
stitch = "running", inset = "1 mm", shift = [0, 0], border = true, joined = false }
# decoration = { kind = "chevrons", pitch = "10 mm", depth = "5 mm", spacing = "5 mm", angle = 0, edge = "clip", \
stitch = "running", inset = "1 mm", shift = [0, 0], border = true, joined = false }
# decoration = { kind = "echo", pitch = "5 mm", stitch = "running", inset = "1 mm" }
# decoration = { kind = "meander", pitch = "5 mm", seed = 1, stitch = "running", inset = "1 mm" }
# decoration = { kind = "artwork", svg = "art/heron.svg", width = "20 mm", pitch = "26 mm", layout = "square", \
angle = 0, edge = "whole", stitch = "fill", colours = "drawn", bare = "#ffffff", inset = "1 mm", shift = [0, 0] }
# (without pitch the drawing is sewn once; colours = "one" sews it in the accent's thread alone)
# decoration = { kind = "lettering", text = "Heron", face = "sans", height = "9 mm", width = "50 mm", \
letter_spacing = "0.5 mm", arc = "60 mm", side = "above", angle = 0, stitch = "satin", inset = "1 mm", \
shift = ["0 mm", "5 mm"] }
# decoration = { kind = "lettering", text = "Heron", font = "art/letters.otf" }   # letters of your own font file
# decoration = { kind = "monogram", text = "ARK", face = "serif", height = "20 mm", frame = "ring", \
stitch = "satin", inset = "1 mm", shift = ["0 mm", "5 mm"] }
# decoration = { kind = "monogram", text = "ARK", font = "art/letters.otf", frame = "shield" }   # none, ring or shield
# decoration = { kind = "none" }
edge = { kind = "satin", width = "3.5 mm" }   # what covers a cut edge: satin or triple
profile = "scallop"                # inner edge of a corner accent: quarter, scallop, ogee, step, straight, wave
# profile = { name = "scallop" }   # the same, as a table
# profile = { svg = "art/profile.svg" }   # or a drawing of your own: from the side seam down to the bottom seam

[tab]                              # the closure tab
width = 3
# length = "5 1/4 in"              # root line to tip; left out, it follows from closure.drop
tip = "ogee"                       # round, point, ogee, square, clipped, scallop, notch, leaf, shield, wave, keyhole
# tip = { name = "ogee" }          # the same, as a table
# tip = { svg = "art/tip.svg" }    # or a drawing of your own, in this file's folder
# tip_depth = "1 in"               # how far the tip reaches below the straight sides
# tip_radius = "1/4 in"            # rounding of its corners
# waist = "2 1/2 in"               # width where it is narrowest
# slant = 0                        # degrees; a slanted tip makes the tab lopsided
# batting = false                  # true pads it
# snap = { diameter = "18 mm", inset = "1 in", prongs = "10 mm", slit = "5 mm" }   # magnetic; tip to centre; prongs
# What else may close it; each line shows all the keys that the kind takes:
# fastener = { kind = "snap", diameter = "18 mm", inset = "1 in", prongs = "10 mm", slit = "5 mm" }
# fastener = { kind = "sew-in-snap", diameter = "18 mm", inset = "1 in", holes = 4 }
# fastener = { kind = "turn-lock", width = "34 mm", height = "20 mm", hole_width = "20 mm", hole_height = "8 mm", \
inset = "1 1/2 in", prongs = "27 mm", post_prongs = "12 mm", slit = "4 mm" }   # measure yours
# fastener = { kind = "button", diameter = "20 mm", thickness = "4 mm", inset = "1 in", direction = "along", \
bead = "2 mm" }   # direction: the buttonhole along or across the tab; bead: its satin beside the cut
# decoration = { kind = "rings", pitch = "12 mm" }                # of its own, instead of the style's

[closure]
drop = "3 in"                      # top edge to snap centre, down the front; left out, it follows from tab.length

[corner]                           # the corner accents
width  = 4                         # along the bottom seam, from the side seam
height = 4                         # along the side seam, from the bottom seam
# echo = "5 mm"                    # a line that follows its free edge, so far inside it
# edge = { kind = "satin", width = "3 mm" }               # of its own, instead of the style's
# decoration = { kind = "echo", pitch = "5 mm" }          # of its own

[connector]                        # what the strap ends are sewn to, or the snap alone
# layout = "bridge"                # bridge: a piece over the strap ends and the snap; pair: one at each strap end; \
medallion: for the snap alone
# (left out, it is a bridge, or on a bag without straps a medallion, the only layout there; the closed tab hides what \
it covers of a medallion, often the whole: it shows when the tab is open; width and height make it larger or smaller)
# ends = "both"                    # strap ends that a bridge holds, seen on the front: both, left or right
# snap_up = "0 mm"                 # its snap above its middle
# snap_right = "0 mm"              # its snap right of where it lies by itself
height = "2 in"
# width = "8 in"
# outline = "rounded"              # rounded, oval, ogee, scallop or clipped
# decoration = { kind = "crosshatch", pitch = "8 mm" }

[label]                            # made only if it has a text
# text = "Made at the pier"        # one line; accented letters are fine
# width = "60 mm"                  # of the lettering
# height = "8 mm"                  # of a capital letter, instead of the width
# stitch = "auto"                  # running, triple, satin or fill; auto goes by the face and how heavy it is
# face = "plain"                   # plain, bold, script, roman, italic are lines; sans, serif, hand, rounded outlines
# font = "art/letters.otf"         # a font file of your own, in place of the face
# letter_spacing = "0.5 mm"        # between letters, beside what the face gives them
# arc = "80 mm"                    # radius of the line they stand on; left out, it is straight
# side = "below"                   # they hang below the circle's middle; above: they stand above it
"""
