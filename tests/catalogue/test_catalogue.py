"""Many kits of one design: each is the kit that its spec alone would give, whoever made it and when."""

from __future__ import annotations

import contextlib
import json
import logging
import os
import signal
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from html import escape
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stitchcraft.catalogue import Record, local, make_catalogue, making, read_variants
from stitchcraft.catalogue.engine import Engine, Workers, cluster, results
from stitchcraft.catalogue.index import index_pages
from stitchcraft.catalogue.records import file_hashes
from stitchcraft.cli import main
from stitchcraft.errors import ParameterError, SpecError, StitchcraftError
from stitchcraft.kit import make_kit

BASE = """\
name = "Sandpiper pouch"
parts = ["tab"]
[bag]
width = 120
height = 140
[machine]
formats = ["dst"]
[style]
decoration = "none"
"""
AXES = """\
name = "Sandpiper <pouches>"
base = "bag.toml"

[axes.width]
narrow = { tab = { width = 40 } }
wide = { tab = { width = 55 } }

[axes.tip]
round = { tab = { tip = "round" } }
none = { tab = { tip = "no such tip" } }
"""


@pytest.fixture(scope="module")
def pool() -> Iterator[Engine]:
    """Processes that many catalogues share: they take longer to start than a small kit to make."""
    with local(2).open() as workers:
        yield Engine(lambda: contextlib.nullcontext(workers))


@pytest.fixture
def axes(tmp_path: Path) -> Path:
    (tmp_path / "bag.toml").write_text(BASE, encoding="utf-8")
    (tmp_path / "all.toml").write_text(AXES, encoding="utf-8")
    return tmp_path / "all.toml"


def test_each_combination_of_choices_is_a_kit_and_what_fails_is_listed(axes: Path, pool: Engine) -> None:
    out = axes.parent / "out"
    seen: list[tuple[str, bool]] = []
    made = make_catalogue(axes, out, engine=pool, progress=lambda record, kept: seen.append((record.name, kept)))
    assert (made.made, made.kept, made.failed, made.ok) == (2, 0, 2, False)
    assert sorted(seen) == [(f"{width}/{tip}", False) for width in ("narrow", "wide") for tip in ("none", "round")]
    listed = json.loads((out / "catalogue.json").read_text(encoding="utf-8"))
    assert listed["complete"]
    # in the order of the file, whatever order they came in
    assert [kit["name"] for kit in listed["kits"]] == ["narrow/round", "narrow/none", "wide/round", "wide/none"]
    assert [kit["ok"] for kit in listed["kits"]] == [True, False, True, False]
    assert "no such tip" in listed["kits"][1]["error"]
    # a kit of a catalogue is the kit that the same spec makes by itself
    alone = BASE + '[tab]\nwidth = 40\ntip = "round"\n'
    (axes.parent / "alone.toml").write_text(alone, encoding="utf-8")
    make_kit(axes.parent / "alone.toml", axes.parent / "alone")
    assert file_hashes(out / "kits" / "narrow" / "round") == file_hashes(axes.parent / "alone")


def test_only_what_changed_is_made_again(axes: Path, pool: Engine) -> None:
    out = axes.parent / "out"
    first = make_catalogue(axes, out, engine=pool)
    whole = file_hashes(out)
    again = make_catalogue(axes, out, engine=pool)
    assert (first.made, again.made, again.kept) == (2, 0, 2)
    assert file_hashes(out) == whole

    (out / "kits" / "wide" / "round" / "tab-front.dst").write_bytes(b"damaged")
    mended = make_catalogue(axes, out, engine=pool)
    assert (mended.made, mended.kept) == (1, 1)
    assert file_hashes(out) == whole

    axes.write_text(AXES.replace("width = 55", "width = 56"), encoding="utf-8")
    changed = make_catalogue(axes, out, engine=pool)
    assert (changed.made, changed.kept) == (1, 1)
    assert file_hashes(out / "kits" / "narrow") == {
        name.removeprefix("kits/narrow/"): value for name, value in whole.items() if name.startswith("kits/narrow/")
    }


def test_a_drawing_that_changed_makes_its_kits_anew(axes: Path, pool: Engine) -> None:
    line = '<path d="M0 0 L30 {} L60 0" fill="none" stroke="#000"/>'
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 40">{line}</svg>'
    (axes.parent / "tip.svg").write_text(drawing.format(40), encoding="utf-8")
    axes.write_text('base = "bag.toml"\n[axes.tip]\nown = { tab = { tip = { svg = "tip.svg" } } }\n', encoding="utf-8")
    counts = []
    for height in (40, 40, 36):
        (axes.parent / "tip.svg").write_text(drawing.format(height), encoding="utf-8")
        counts.append(make_catalogue(axes, axes.parent / "out", engine=pool).made)
    assert counts == [1, 0, 1]


def test_another_engine_gives_the_same_bytes(axes: Path) -> None:
    distributed = pytest.importorskip("distributed")
    make_catalogue(axes, axes.parent / "here", engine=local(1))
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0") as workers:
        make_catalogue(axes, axes.parent / "there", engine=cluster(workers.scheduler_address))
    assert file_hashes(axes.parent / "here") == file_hashes(axes.parent / "there")


def dies_once(task: tuple[str, int]) -> int:
    """Takes its whole process with it, the first time that it is asked."""
    mark, number = task
    try:
        with Path(f"{mark}-{number}").open("x"):
            pass
    except FileExistsError:
        return number
    if number % 5 == 0:
        time.sleep(0.2)  # the others are about by then
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def always_dies(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def test_what_a_process_was_at_when_it_died_is_done_by_another(tmp_path: Path) -> None:
    tasks = ((str(tmp_path / "t"), number) for number in range(8))
    assert sorted(results(local(2), dies_once, tasks, lost=lambda _: -1)) == list(range(8))


def test_a_task_that_kills_every_process_is_given_up_and_the_others_are_done() -> None:
    done = sorted(results(local(2), always_dies, iter(range(12)), lost=lambda number: -number))
    assert done == [-3, 0, 1, 2, *range(4, 12)]


def test_a_worker_of_a_cluster_that_is_killed_loses_nothing(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0") as workers:
        tasks = ((str(tmp_path / "t"), number) for number in range(8))
        done = sorted(results(cluster(workers.scheduler_address), dies_once, tasks, lost=lambda _: -1))
    assert done == list(range(8))


def slowly(number: int) -> int:
    time.sleep(0.2)
    return number


def test_a_cluster_that_goes_away_is_told_in_a_line() -> None:
    distributed = pytest.importorskip("distributed")
    workers = distributed.LocalCluster(n_workers=1, threads_per_worker=1, processes=True, dashboard_address=":0")
    with workers:
        stream = results(cluster(workers.scheduler_address), slowly, iter(range(1000)), lost=abs)
        assert next(stream) in range(1000)
        # the library would tell of it in tracebacks
        assert not logging.getLogger("distributed.client").isEnabledFor(logging.ERROR)
    with pytest.raises(StitchcraftError, match=r"^tcp://\S+: the cluster went away; what it made is kept"):
        list(stream)
    assert logging.getLogger("distributed.client").isEnabledFor(logging.ERROR)


def test_tasks_are_handed_out_a_few_at_a_time() -> None:
    taken = 0

    def tasks() -> Iterator[int]:
        nonlocal taken
        for number in range(1000):
            taken = number + 1
            yield number

    stream = results(local(2), abs, tasks(), lost=abs)
    next(stream)
    assert taken < 20
    stream.close()


def test_more_is_handed_out_as_workers_join() -> None:
    there, taken = [1], 0

    def tasks() -> Iterator[int]:
        nonlocal taken
        for number in range(1000):
            taken = number + 1
            yield number

    with ThreadPoolExecutor(1) as executor:
        workers = Workers(executor, lambda: there[0])
        stream = results(Engine(lambda: contextlib.nullcontext(workers)), abs, tasks(), lost=abs)
        next(stream)
        assert taken <= 8
        there[0] = 50
        given = [next(stream) for _ in range(8)]  # those that were handed out before come first
        assert taken >= 200
        stream.close()
    assert len(set(given)) == 8


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "base is missing"),
        ('base = "bag.toml"', "axes is missing"),
        ('base = "bag.toml"\naxes = 3', "axes is 3; it needs to be tables"),
        ('base = "bag.toml"\n[axes]\nsize = 3', r":3: axes.size is 3; it needs to be a table of choices"),
        ('base = "bag.toml"\n[axes.size]\n"../up" = {}', r":3: axes.size.../up cannot be a choice's name"),
        ('base = "bag.toml"\n[axes.size]\n"a" = {}\n"A" = {}', r":4: axes.size.A is there already"),
        ('base = "bag.toml"\n[axes.size]\na = 1', r":3: axes.size.a is 1; it needs to be a piece of a spec"),
        ('base = "none.toml"\n[axes.size]\na = {}', "none.toml: there is no such file"),
        ('base = "bag.toml"\nbases = 1\n[axes.size]\na = {}', r':2: bases is not a key here; did you mean "base"'),
    ],
)
def test_what_is_no_catalogue_is_refused_in_a_line(axes: Path, text: str, words: str) -> None:
    axes.write_text(text, encoding="utf-8")
    with pytest.raises(SpecError, match=words):
        read_variants(axes)


def test_more_kits_than_anyone_would_make_are_refused(axes: Path) -> None:
    choices = ", ".join(f"c{number} = {{}}" for number in range(101))
    axes.write_text(
        'base = "bag.toml"\n[axes]\n' + "".join(f"a{number} = {{ {choices} }}\n" for number in range(3)),
        encoding="utf-8",
    )
    with pytest.raises(SpecError, match="make 1,030,301 kits; a catalogue has at most 1,000,000"):
        read_variants(axes)


def test_a_folder_with_other_things_is_refused_and_left_alone(axes: Path, pool: Engine) -> None:
    with pytest.raises(SpecError, match="holds other things"):
        make_catalogue(axes, axes.parent, engine=pool)
    assert {path.name for path in axes.parent.iterdir()} == {"bag.toml", "all.toml"}


@pytest.mark.parametrize("jobs", [0, -1, True, 1.5, 1000])
def test_a_number_of_jobs_that_cannot_be_is_refused(jobs: object) -> None:
    with pytest.raises(ParameterError, match="a whole number from 1 to 512"):
        local(jobs)  # type: ignore[arg-type]


def test_the_index_says_what_the_findings_are(axes: Path, pool: Engine) -> None:
    axes.write_text(
        'base = "bag.toml"\n[axes.field]\nsmall = { machine = { hoops = ["40x40"] } }\nlarge = {}\n', encoding="utf-8"
    )
    made = make_catalogue(axes, axes.parent / "out", engine=pool)
    assert (made.made, made.unsound) == (2, 1)
    small, large = made.records()
    assert small.findings["error"] == 2
    assert small.said[0].startswith("error [hoop-fit] tab-back: ")
    assert not any(one.startswith("note") for one in small.said)
    assert large.said == []
    text = (axes.parent / "out" / "index.html").read_text(encoding="utf-8")
    assert text.index("small</a>: 2 errors; error [hoop-fit]") < text.index("<details><summary>")
    assert all(escape(one) in text for one in small.said)


def test_the_index_shows_names_as_text_and_many_kits_on_several_pages(
    axes: Path, pool: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("stitchcraft.catalogue.index.KITS_A_PAGE", 3)
    make_catalogue(axes, axes.parent / "out", engine=pool)
    first, second = (axes.parent / "out" / name for name in ("index.html", "index-2.html"))
    pages = {path.name: _Links(path.read_text(encoding="utf-8")) for path in (first, second)}
    text = first.read_text(encoding="utf-8")
    assert "<h1>Sandpiper &lt;pouches&gt;</h1>" in text
    assert pages["index.html"].ids == ["narrow/round", "narrow/none", "wide/round"]
    assert pages["index-2.html"].ids == ["wide/none"]
    assert 'src="kits/narrow/round/preview.png"' in text
    assert _cut_at_the_bag(first.parent / "kits/narrow/round/preview.png", text)
    # what failed stands first, on the first page, and leads to its place
    assert text.index("2 kits not as they should be") < text.index('id="narrow/round"')
    amiss = [link for link in pages["index.html"].links if "#" in link]
    assert amiss == ["index.html#narrow/none", "index-2.html#wide/none"]
    for name, page in pages.items():
        for link in page.links:
            file, _, place = link.partition("#")
            assert (first.parent / file).is_file(), (name, link)
            assert not place or place in pages[file].ids
    # a smaller catalogue leaves no page of the larger one behind
    monkeypatch.setattr("stitchcraft.catalogue.index.KITS_A_PAGE", 4)
    make_catalogue(axes, axes.parent / "out", engine=pool)
    assert not second.exists()


class _Links(HTMLParser):
    """What a page links to, and the places in it that can be linked to."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.links += [str(values["href"])] if tag == "a" else []
        self.ids += [str(values["id"])] if "id" in values else []


def test_pages_of_a_huge_catalogue_stay_small_and_lead_to_one_another() -> None:
    pages = {}
    for name, text in index_pages("Terns", 200 * 5000, iter(()), kits="kits"):
        assert len(text) < 4000
        pages[name] = set(_Links(text).links)
    assert len(pages) == 5000
    assert set().union(*pages.values()) <= set(pages)
    assert {"index.html", "index-2499.html", "index-2501.html", "index-5000.html"} <= pages["index-2500.html"]


def _cut_at_the_bag(picture: Path, text: str) -> bool:
    """Whether the index cuts a preview where its bag ends: in the white between bag and parts, thread above it."""
    shape = float(text.split('style="--shape:', 1)[1].split('"', 1)[0])
    rows = np.asarray(Image.open(picture).convert("L"))
    end = round(rows.shape[1] / shape)
    return bool((rows[end - 10 : end - 2] == 255).all() and (rows[: end - 10] < 128).any() and end < rows.shape[0])


def test_records_that_cannot_be_read_are_made_again(axes: Path, pool: Engine) -> None:
    out = axes.parent / "out"
    make_catalogue(axes, out, engine=pool)
    path = making._record_path(out, "wide/round")
    assert Record(**json.loads(path.read_text(encoding="utf-8"))).made
    path.write_text("{", encoding="utf-8")
    assert make_catalogue(axes, out, engine=pool).made == 1


def test_the_command_says_what_came_out_and_what_failed(axes: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["catalogue", str(axes), "-o", str(axes.parent / "out"), "--jobs", "2"])
    assert left.value.code == 1
    said = capsys.readouterr()
    assert "2 kits made, 0 kept, 2 failed, 0 with errors" in said.out
    assert said.err.count("not made: spec: tab.tip.name is") == 2
    with pytest.raises(SystemExit) as left:
        main(["catalogue", str(axes), "-o", str(axes.parent / "out"), "--jobs", "2", "--cluster", "tcp://127.0.0.1:1"])
    assert left.value.code == 2


def test_a_kit_that_was_finished_while_the_catalogue_was_stopped_is_kept(axes: Path, pool: Engine) -> None:
    """The record is written by the one that makes the kit: whoever hands out the work may be gone by then."""
    out = axes.parent / "out"

    def stop(record: Record, kept: bool) -> None:  # noqa: ARG001
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_catalogue(axes, out, engine=local(2), progress=stop)
    finished = {path.parent.relative_to(out / "kits").as_posix() for path in out.glob("kits/*/*/report.json")}
    assert len(finished) > 1  # others than the one of which it heard
    kept: set[str] = set()
    make_catalogue(axes, out, engine=pool, progress=lambda record, was: kept.add(record.name) if was else None)
    assert kept == finished
