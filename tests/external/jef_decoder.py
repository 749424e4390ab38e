"""A reader of JEF files written from the public description of the format (from memory), and nothing else.

The description: numbers of 32 bits, little-endian: at byte 0 where the stitches begin, at 24 the number of threads, at
28 the number of pairs of bytes, at 32 a code of the hoop, from 36 on how far it reaches to the left, the top, the right
and the bottom of the middle. Stitches are pairs of signed bytes, dx to the right and dy upwards in units of 0.1 mm. A
pair that begins with 80 hex is a command: 01 a halt and 02 a move without sewing, each for the pair after it, 10 the
end. A cut is a row of three or more moves that goes nowhere.
"""

from __future__ import annotations

import struct

from dst_decoder import Sewing


def decode_jef(data: bytes) -> Sewing:
    sewing = Sewing()
    at, threads, pairs = (struct.unpack_from("<I", data, place)[0] for place in (0, 24, 28))
    sewing.header |= {"threads": str(threads), "pairs": str(pairs)}
    sewing.header |= {
        side: str(value)
        for side, value in zip(("left", "top", "right", "bottom"), struct.unpack_from("<4i", data, 36), strict=True)
    }
    x = y = 0
    while True:
        command = data[at + 1] if data[at] == 0x80 else None
        sewing.records += 1
        if command == 0x10:
            return sewing
        if command is not None:
            at += 2
            sewing.records += 1
        dx, dy = struct.unpack_from("<bb", data, at)
        at += 2
        x, y = x + dx, y + dy
        if command is None:
            sewing.points.append((x, y))
        elif command == 0x01:
            sewing.halts.append(len(sewing.points))
        elif command == 0x02:
            sewing.jumps += 1
        else:
            raise ValueError(f"command {command:#x}")
