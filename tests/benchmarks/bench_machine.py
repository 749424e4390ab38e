"""Machine files against the file library's own writing and reading of the same stitches, and the fit by itself.

Run with ``pytest tests/benchmarks/bench_machine.py --benchmark-only --benchmark-group-by=param:fmt``;
what counts is the ratio.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pyembroidery
import pytest
from machine_plans import plan_of

from stitchcraft.machine import Hoop, decode, encode, fit_in_field
from stitchcraft.units import to_units

ANGLE = np.arange(20_000) * 0.05
PATH = np.column_stack([40 * np.cos(ANGLE), 30 * np.sin(0.62 * ANGLE)])
PLAN = plan_of([[[(float(x), float(y)) for x, y in PATH]]])
EVERY = pytest.mark.parametrize("fmt", ["dst", "pes", "jef", "exp", "vp3"])


def library_bytes(fmt: str) -> bytes:
    pattern = pyembroidery.EmbPattern()
    pattern.add_thread(0x2F5D62)
    pattern.stitches.extend([x, -y, pyembroidery.STITCH] for x, y in to_units(PATH).tolist())
    pattern.stitches.append([*pattern.stitches[-1][:2], pyembroidery.END])
    buffer = io.BytesIO()
    getattr(pyembroidery, f"write_{fmt}")(pattern, buffer)
    return buffer.getvalue()


@EVERY
def test_the_library_writes(benchmark: Any, fmt: str) -> None:
    assert benchmark(library_bytes, fmt)


@EVERY
def test_we_write(benchmark: Any, fmt: str) -> None:
    assert benchmark(encode, PLAN, fmt)


@EVERY
def test_the_library_reads(benchmark: Any, fmt: str) -> None:
    data = encode(PLAN, fmt)
    assert benchmark(lambda: getattr(pyembroidery, f"read_{fmt}")(io.BytesIO(data)))


@EVERY
def test_we_read(benchmark: Any, fmt: str) -> None:
    assert benchmark(decode, encode(PLAN, fmt), fmt).stitches == len(PATH)


@pytest.mark.parametrize("corners", [10, 56, 500])
def test_a_part_is_laid_slantwise_in(benchmark: Any, corners: int) -> None:
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    part = np.column_stack([60 * np.cos(angle), 20 * np.sin(angle)])
    assert benchmark(fit_in_field, part, Hoop(100, 100)) is not None
