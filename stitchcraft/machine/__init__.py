"""Sewing fields, and machine files: written, read back, compared.

The only user of the file library, which is loaded when a file is first written or read.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.lazy import loaded_when_asked

if TYPE_CHECKING:
    from stitchcraft.machine.colours import file_colours
    from stitchcraft.machine.estimates import (
        StitchLengths,
        StopThread,
        Threads,
        ThreadUse,
        hands_on_minutes,
        minutes,
        stitch_lengths,
        stop_minutes,
        thread_metres,
        threads_of,
        uncut_moves,
    )
    from stitchcraft.machine.fields import FIELDS, Field, Hoop, Machine
    from stitchcraft.machine.fit import Fit, NeededField, fit_at, fit_in_field, needed_field, smallest_fit
    from stitchcraft.machine.formats import FORMATS, Format, format_named
    from stitchcraft.machine.inspection import FileReport, StopReport, inspect_file
    from stitchcraft.machine.machinefile import MachineFile
    from stitchcraft.machine.placement import Placement, centred
    from stitchcraft.machine.proof import FileProof, Proof, prove
    from stitchcraft.machine.reading import decode, read_file
    from stitchcraft.machine.saving import SavedFile, save
    from stitchcraft.machine.stitch_kinds import StitchKind, StopGuess, guess_stops
    from stitchcraft.machine.writing import encode

# loaded when first asked for: a file is opened, and its reader started, before numpy is there
_HOME = {
    "colours": ("file_colours",),
    "estimates": (
        "StitchLengths",
        "StopThread",
        "Threads",
        "ThreadUse",
        "hands_on_minutes",
        "minutes",
        "stitch_lengths",
        "stop_minutes",
        "thread_metres",
        "threads_of",
        "uncut_moves",
    ),
    "fields": (
        "FIELDS",
        "Field",
        "Hoop",
        "Machine",
    ),
    "fit": (
        "Fit",
        "NeededField",
        "fit_at",
        "fit_in_field",
        "needed_field",
        "smallest_fit",
    ),
    "formats": (
        "FORMATS",
        "Format",
        "format_named",
    ),
    "inspection": (
        "FileReport",
        "StopReport",
        "inspect_file",
    ),
    "machinefile": ("MachineFile",),
    "placement": (
        "Placement",
        "centred",
    ),
    "proof": (
        "FileProof",
        "Proof",
        "prove",
    ),
    "reading": (
        "decode",
        "read_file",
    ),
    "saving": (
        "SavedFile",
        "save",
    ),
    "stitch_kinds": (
        "StitchKind",
        "StopGuess",
        "guess_stops",
    ),
    "writing": ("encode",),
}
__getattr__ = loaded_when_asked(__name__, _HOME)

__all__ = [
    "FIELDS", "FORMATS", "Field", "FileProof", "FileReport", "Fit", "Format", "Hoop", "Machine", "MachineFile",
    "NeededField", "Placement", "Proof", "SavedFile", "StitchKind", "StitchLengths", "StopGuess", "StopReport",
    "StopThread", "ThreadUse", "Threads",
    "centred", "decode", "encode", "file_colours", "fit_at", "fit_in_field", "format_named", "guess_stops",
    "hands_on_minutes", "inspect_file", "minutes", "needed_field", "prove", "read_file", "save", "smallest_fit",
    "stitch_lengths", "stop_minutes", "thread_metres", "threads_of", "uncut_moves",
]  # fmt: skip
