"""One kit of a catalogue, made by whichever process is asked to: plain values in, a small record out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stitchcraft.catalogue.records import Record, file_hashes, program_key, write_record
from stitchcraft.errors import Level, StitchcraftError

_MOST_SAID: Final = 12  # of a kit in trouble the rest is in its report


@dataclass(frozen=True, slots=True)
class Task:
    """What a process needs to know to make a kit.

    Attributes:
        name: Choices, between slashes.
        key: Hash of all that the kit is made from.
        document: The spec, as plain values.
        folder: Where drawings that it names are looked for.
        target: Where the kit is to lie.
        record: Where its record is to lie.
        paper: What its papers are laid out for.
        program: Hash of the program that asks.
    """

    name: str
    key: str
    document: dict[str, Any]
    folder: str
    target: str
    record: str
    paper: str
    program: str


def make_one(task: Task) -> Record:
    """Make a kit and write it; whatever goes wrong with it becomes its record, so that the others go on."""
    try:
        made = _made(task)
        # here, and not where the kits are counted: a catalogue that is stopped before it hears of this one keeps it
        write_record(Path(task.record), made)
        return made
    except StitchcraftError as error:
        return Record(task.name, task.key, " ".join(str(error).split()))
    except Exception as error:  # noqa: BLE001 - a fault on one kit must not end a night's work
        what = " ".join(f"{type(error).__name__}: {error}".split())[:300]
        return Record(task.name, task.key, f"a fault of the program, not of the spec: {what}")


def _made(task: Task) -> Record:
    # loaded by the process that makes kits; the one that hands them out needs none of it
    from stitchcraft.kit import make_kit
    from stitchcraft.kit.pictures import bag_shape
    from stitchcraft.machine import minutes
    from stitchcraft.spec.reading import spec_from_document

    if task.program != program_key():
        return Record(task.name, task.key, "the worker runs another release of the program, or of its libraries")
    spec = spec_from_document(task.document, source="spec", folder=Path(task.folder))
    kit = make_kit(spec, Path(task.target), paper=task.paper)
    levels = Counter(finding.level for finding in kit.findings)
    return Record(
        name=task.name,
        key=task.key,
        parts=len(kit.parts),
        stitches=sum(one.plan.stitches for one in kit.parts),
        minutes=round(sum(minutes(one.plan, kit.machine) for one in kit.parts), 2),
        proofs=sum(proof.ok for proof in kit.proofs),
        proofs_of=len(kit.proofs),
        findings={level.value: levels[level] for level in Level},
        said=[str(one) for one in kit.findings.errors_first() if one.level is not Level.NOTE][:_MOST_SAID],
        bag_shape=round(bag_shape(kit), 3),
        files=file_hashes(Path(task.target)),
    )
