"""A reader of EXP files written from the public description of the format, and from nothing else.

The description: no header; pairs of signed bytes, dx to the right and dy upwards in units of 0.1 mm, each a stitch.
A pair that begins with 80 hex is a command for the pair after it: 01 a halt for another colour, 04 a jump, 80 a trim.
"""

from __future__ import annotations

from dst_decoder import Sewing


def decode_exp(data: bytes) -> Sewing:
    sewing = Sewing()
    x = y = at = 0

    def signed(value: int) -> int:
        return value - 256 if value > 127 else value

    while at < len(data):
        command = data[at + 1] if data[at] == 0x80 else None
        if command is not None:
            at += 2
        dx, dy = signed(data[at]), signed(data[at + 1])
        at += 2
        if command == 0x80:
            sewing.trims += 1
        elif command == 0x01:
            sewing.halts.append(len(sewing.points))
        elif command in (None, 0x04):
            x, y = x + dx, y + dy
            if command is None:
                sewing.points.append((x, y))
            else:
                sewing.jumps += 1
        else:
            raise ValueError(f"command {command:#x}")
        sewing.records += 1
    return sewing
