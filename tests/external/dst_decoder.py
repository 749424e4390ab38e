"""A reader of DST files written from the public description of the format, and from nothing else.

The description (Wotsit-type notes, in many copies): 512 bytes of header in lines such as ``LA:name``, then three
bytes a record. Each move is a sum of the digits 1, 3, 9, 27 and 81, each with a bit for plus and a bit for minus,
so that -121 to 121 units of 0.1 mm can be told; x grows to the right and y upwards. Of the last byte the two lowest
bits are always set, the highest marks a jump, the two highest together a halt for another colour, and F3 the end.
"""

from __future__ import annotations

from dataclasses import dataclass, field

X_BITS = {
    (0, 0): 1,
    (0, 1): -1,
    (0, 2): 9,
    (0, 3): -9,
    (1, 0): 3,
    (1, 1): -3,
    (1, 2): 27,
    (1, 3): -27,
    (2, 2): 81,
    (2, 3): -81,
}
Y_BITS = {
    (0, 7): 1,
    (0, 6): -1,
    (0, 5): 9,
    (0, 4): -9,
    (1, 7): 3,
    (1, 6): -3,
    (1, 5): 27,
    (1, 4): -27,
    (2, 5): 81,
    (2, 4): -81,
}


@dataclass
class Sewing:
    """What a file says: every penetration in units of 0.1 mm, and how many of them came before each halt.

    A move is what the record of a penetration alone says: behind a jump it is less than the way from point to point.
    """

    points: list[tuple[int, int]] = field(default_factory=list)
    moves: list[tuple[int, int]] = field(default_factory=list)
    halts: list[int] = field(default_factory=list)
    jumps: int = 0
    trims: int = 0
    records: int = 0
    header: dict[str, str] = field(default_factory=dict)

    @property
    def stop_of(self) -> list[int]:
        return [sum(halt <= k for halt in self.halts) for k in range(len(self.points))]


def decode_dst(data: bytes) -> Sewing:
    sewing = Sewing()
    for line in data[:512].split(b"\x1a")[0].decode("ascii").split("\r"):
        if ":" in line:
            key, value = line.split(":", 1)
            sewing.header[key] = value.strip()
    x = y = row_of_jumps = 0
    for at in range(512, len(data), 3):
        record = data[at : at + 3]
        if len(record) < 3:
            raise ValueError("a record is cut short")
        if record[2] == 0xF3:
            return sewing
        if record[2] & 3 != 3:
            raise ValueError("a record without its marks")
        sewing.records += 1
        right = sum(digit for (byte, bit), digit in X_BITS.items() if record[byte] >> bit & 1)
        up = sum(digit for (byte, bit), digit in Y_BITS.items() if record[byte] >> bit & 1)
        x, y = x + right, y + up
        if record[2] & 0xC0 == 0xC0:
            sewing.halts.append(len(sewing.points))
            row_of_jumps = 0
        elif record[2] & 0x80:
            sewing.jumps += 1
            row_of_jumps += 1
            sewing.trims += row_of_jumps == 3  # the machines' usual setting
        else:
            sewing.points.append((x, y))
            sewing.moves.append((right, up))
            row_of_jumps = 0
    raise ValueError("no end")
