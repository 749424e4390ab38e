"""A whole catalogue: only what changed is made, what fails is listed, and what there is has an index."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stitchcraft.catalogue.engine import Engine, local, results
from stitchcraft.catalogue.index import index_pages
from stitchcraft.catalogue.records import (
    Record,
    key_of,
    plain_json,
    program_key,
    reach,
    read_record,
    stands,
    write_record,
)
from stitchcraft.catalogue.variants import Variants, read_variants
from stitchcraft.catalogue.work import Task, make_one
from stitchcraft.errors import SpecError
from stitchcraft.whole_files import whole_file

LIST_NAME: Final = "catalogue.json"
KITS: Final = "kits"
_RECORDS: Final = "records"


@dataclass(frozen=True, slots=True)
class Catalogue:
    """How the making of a catalogue ended; the records of its kits are read from its folder.

    Attributes:
        variants: What it holds.
        folder: Where it lies.
        made: Kits made now.
        kept: Kits that were there already, unchanged.
        failed: Kits that could not be made.
        unsound: Kits with an error-level finding.
    """

    variants: Variants
    folder: Path
    made: int
    kept: int
    failed: int
    unsound: int

    @property
    def ok(self) -> bool:
        """Whether every kit is there and none has an error against it."""
        return not self.failed and not self.unsound

    def records(self) -> Iterator[Record]:
        """The record of each kit, in the order of the catalogue, read from its folder one by one."""
        for variant in self.variants:
            record = read_record(_record_path(self.folder, variant.name))
            if record is not None:
                yield record


def make_catalogue(
    source: str | Path | Variants,
    folder: str | Path,
    *,
    paper: str = "A4",
    engine: Engine | None = None,
    progress: Callable[[Record, bool], None] | None = None,
) -> Catalogue:
    """Make the kits of a catalogue.

    Kits lie under ``kits/`` in folders named after their choices; ``index.html`` shows them, ``catalogue.json``
    lists them. A kit that is there already, made from the same spec, drawings and program, and whole to the last
    byte, is kept. A kit that cannot be made is listed with the reason and holds up nothing; an earlier one of that
    name stays as it was, but is not in the lists. The same catalogue gives the same bytes, whoever made which kit.

    Args:
        source: A catalogue's file, or a catalogue already read.
        folder: Where to: nothing, an empty folder, or an earlier catalogue.
        paper: What worksheets and templates are laid out for, ``"A4"`` or ``"Letter"``.
        engine: Where the kits are made; None takes one process for each core of this machine.
        progress: Called with each record as it comes in, and whether it was kept.

    Raises:
        ParameterError: If *paper* is neither.
        SpecError: If the catalogue cannot be read, or the folder holds something else or cannot be written.
    """
    from stitchcraft.paper.pages import page_mm  # with it comes the PDF library, for which reading needs no time

    variants = source if isinstance(source, Variants) else read_variants(source)
    target = Path(folder).absolute()
    page_mm(paper)  # refuses what is none
    _prepare(target)
    counts = {"made": 0, "kept": 0, "failed": 0, "unsound": 0}

    def note(record: Record, *, kept: bool) -> None:
        counts["failed" if not record.made else "kept" if kept else "made"] += 1
        counts["unsound"] += record.made and not record.ok
        if not record.made:  # one that was made has been written beside its kit
            write_record(_record_path(target, record.name), record)
        if progress is not None:
            progress(record, kept)

    tasks = _tasks(variants, target, paper, lambda record: note(record, kept=True))
    for record in results(engine or local(), make_one, tasks, lost=_lost):
        note(record, kept=False)
    made = Catalogue(variants, target, **counts)
    _write_lists(made)
    return made


def _tasks(variants: Variants, target: Path, paper: str, kept: Callable[[Record], None]) -> Iterator[Task]:
    """What is to be made: all that does not stand already."""
    program = program_key()
    for variant in variants:
        key = key_of(variant.document, variants.folder, paper)
        kit = target / KITS / variant.name
        record = read_record(_record_path(target, variant.name))
        if record is not None and stands(record, key, kit):
            kept(record)
            continue
        reach(kit.parent)  # here and not by the workers, who would race for it
        yield Task(
            variant.name, key, variant.document, str(variants.folder.absolute()), str(kit),
            str(_record_path(target, variant.name)), paper, program,
        )  # fmt: skip


def _lost(task: Task) -> Record:
    return Record(task.name, task.key, "the process that made it died, more than once; is there enough memory?")


def _prepare(target: Path) -> None:
    """Make the folder, or see that it is an earlier catalogue."""
    try:
        if target.exists() and not target.is_dir():
            raise SpecError(f"{target}: is a file; name a folder for the catalogue")
        held = set(os.listdir(target)) if target.exists() else set()  # noqa: PTH208 - some names are no text
    except OSError as error:
        raise SpecError(f"{target}: cannot be used: {error.strerror or error}") from None
    if held and LIST_NAME not in held:
        raise SpecError(f"{target}: holds other things; name a new folder, an empty one, or an earlier catalogue")
    reach(target)
    if not held:
        # known from now on as a catalogue, however this run ends
        whole_file(target / LIST_NAME, b'{"catalogue": 1, "complete": false}\n')


def _record_path(target: Path, name: str) -> Path:
    return target / _RECORDS / f"{name}.json"


def _write_lists(made: Catalogue) -> None:
    """Write the list and the index, a record at a time."""
    head = {"catalogue": 1, "complete": True, "name": made.variants.name, "kits": []}
    opening = json.dumps(head, ensure_ascii=False).removesuffix("]}")
    part = made.folder / f".{LIST_NAME}.part"
    try:
        with part.open("w", encoding="utf-8", newline="\n") as stream:
            stream.write(opening)
            for number, record in enumerate(made.records()):
                stream.write((",\n" if number else "\n") + plain_json(_summary(record)).strip())
            stream.write("\n]}\n")
        part.replace(made.folder / LIST_NAME)
    except OSError as error:
        raise SpecError(f"{made.folder}: cannot be written: {error.strerror or error}") from None
    finally:
        part.unlink(missing_ok=True)
    pages = set()
    for name, text in index_pages(made.variants.name, len(made.variants), made.records(), kits=KITS):
        whole_file(made.folder / name, text.encode())
        pages.add(name)
    for path in made.folder.glob("index-*.html"):  # of a catalogue that was larger
        if path.name not in pages:
            path.unlink(missing_ok=True)


def _summary(record: Record) -> dict[str, Any]:
    values = record.to_dict()
    files = values.pop("files")
    values.pop("bag_shape")
    return values | {"ok": record.ok, "folder": f"{KITS}/{record.name}" if record.made else None, "files": len(files)}
