"""Sewing fields, and machine files: written, read back, compared.

The only user of the file library, which is loaded when a file is first written or read.
"""

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

__all__ = [
    "FIELDS", "FORMATS", "Field", "FileProof", "FileReport", "Fit", "Format", "Hoop", "Machine", "MachineFile",
    "NeededField", "Placement", "Proof", "SavedFile", "StitchKind", "StitchLengths", "StopGuess", "StopReport",
    "StopThread", "ThreadUse", "Threads",
    "centred", "decode", "encode", "file_colours", "fit_at", "fit_in_field", "format_named", "guess_stops",
    "hands_on_minutes", "inspect_file", "minutes", "needed_field", "prove", "read_file", "save", "smallest_fit",
    "stitch_lengths", "stop_minutes", "thread_metres", "threads_of", "uncut_moves",
]  # fmt: skip
