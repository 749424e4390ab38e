"""What there is to know of machines, in one table: sewing fields by name, and what each machine file holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from stitchcraft.defaults import MACHINE, PLANNING
from stitchcraft.machine.fields import FIELDS
from stitchcraft.machine.formats import FORMATS, STITCH_LIMIT, Format
from stitchcraft.ranges import RANGES
from stitchcraft.units import MACHINE_UNIT_MM


def limits() -> dict[str, Any]:
    """Fields, file formats and settings of a machine as plain values for JSON; lengths are mm."""
    least, most = RANGES["machine.hoops"]
    return {
        "fields": [
            {"name": field.name, "width_mm": field.hoop.width, "height_mm": field.hoop.height, "source": field.source}
            for field in FIELDS
        ],
        "field_least_mm": least,
        "field_most_mm": most,
        "longest_stitch_mm": STITCH_LIMIT * MACHINE_UNIT_MM,
        "longest_planned_mm": PLANNING["longest_move"].value,
        "speed": MACHINE["speed"].value,
        "trim_over_mm": PLANNING["trim_over"].value,
        "formats": [
            {
                "name": form.name, "colours": form.colours, "trims": form.trims, "name_length": form.name_length,
                "most_stops": form.most_stops, "most_colours": form.most_colours, "note": form.note,
            }
            for form in FORMATS.values()
        ],
    }  # fmt: skip


def limits_lines() -> Iterator[str]:
    """The same as lines of text."""
    least, most = RANGES["machine.hoops"]
    yield f"Sewing fields: any of {least:g} to {most:g} mm a side, as width x height, or by the name of the frame."
    rows = [("name", "mm", "source")]
    rows += [(field.name, field.hoop.name, field.source) for field in FIELDS]
    yield from _table(rows)
    yield ""
    yield f"Machine files: stitches up to {STITCH_LIMIT * MACHINE_UNIT_MM:g} mm on either axis, in steps of 0.1 mm."
    yield (
        f"Threads are cut at jumps longer than {PLANNING['trim_over'].value:g} mm, or than the spec's "
        "machine.trim_over; by hand if its machine.trims is false."
    )
    heads = [("file", "colours", "cuts", "name", "stops", "colours told apart", "note")]
    yield from _table([*heads, *[_row(form) for form in FORMATS.values()]])


def _row(form: Format) -> tuple[str, ...]:
    colours = {"exact": "as they are", "palette": "nearest of a list", "none": "none"}[form.colours]
    cuts = {"kept": "kept", "jumps": "as jumps", "moves": "at every move"}[form.trims]
    name = f"{form.name_length} letters" if form.name_length else "none"
    return (form.name, colours, cuts, name, str(form.most_stops), str(form.most_colours), form.note)


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    for row in rows:
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
