"""A reader of PES and PEC files written from the public description of the format (from memory), and nothing else.

The description: a PES file begins "#PES" and four digits, then says at byte 8, little-endian, where its PEC part lies;
a PEC file begins "#PEC0001" and has it at byte 8. The part: "LA:" and 16 letters of a name; at byte 48 the number of
threads less one, then one byte a thread; at byte 512 a block whose third to fifth byte say how long it is, with width
and height at its ninth and eleventh byte (16 bit), and moves from its 17th byte on. A move is x and then y, y
downwards, in units of 0.1 mm, each 7 bits with a sign, or, if the highest bit is set, 12 bits with a sign in two bytes,
highest first, where 20 hex in the first is a cut and 10 hex a jump. FE B0 and a byte is a halt, FF the end.
"""

from __future__ import annotations

import struct

from dst_decoder import Sewing


def decode_pec(data: bytes) -> Sewing:
    sewing = Sewing()
    sewing.header["magic"] = data[:8].decode("ascii")
    start = struct.unpack_from("<I", data, 8)[0] if data.startswith(b"#PES") else 8
    part = data[start:]
    assert part[:3] == b"LA:"
    sewing.header["LA"] = part[3:19].decode("ascii").strip()
    sewing.header["CO"] = str(part[48])
    block = part[512:]
    length = int.from_bytes(block[2:5], "little")
    sewing.header["width"], sewing.header["height"] = map(str, struct.unpack_from("<HH", block, 8))
    x, y, at = 0, 0, 16

    def step(at: int) -> tuple[int, int, int]:
        if block[at] & 0x80:
            value = (block[at] & 0x0F) << 8 | block[at + 1]
            return (value - 4096 if value & 0x800 else value), block[at] & 0x30, at + 2
        value = block[at]
        return (value - 128 if value & 0x40 else value), 0, at + 1

    while block[at] != 0xFF:
        sewing.records += 1
        if block[at : at + 2] == b"\xfe\xb0":
            sewing.halts.append(len(sewing.points))
            at += 3
            continue
        dx, flags, at = step(at)
        dy, more, at = step(at)
        x, y = x + dx, y - dy
        if not flags | more:
            sewing.points.append((x, y))
        elif (flags | more) & 0x20:
            sewing.trims += 1
        else:
            sewing.jumps += 1
    assert at < length
    return sewing
