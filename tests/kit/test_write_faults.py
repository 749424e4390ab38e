"""A disk that fills up, or a place that is taken away, at every single step of the writing: all or nothing.

The same with small file systems that really are full is in the second half; it needs the right to mount one.
"""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from stitchcraft.catalogue import local, make_catalogue
from stitchcraft.errors import SpecError
from stitchcraft.kit import Kit, make_kit
from stitchcraft.kit.make import kit_of, write_kit
from stitchcraft.whole_files import whole_file

ROOT = Path(__file__).parents[2]
SPEC = 'parts = ["tab"]\n[bag]\nwidth = 120\nheight = 140\n[machine]\nformats = ["dst"]\n[style]\ndecoration = "none"\n'
STEPS = ("write_bytes", "write_text", "mkdir", "chmod", "rename")


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Kit:
    spec = tmp_path_factory.mktemp("spec") / "bag.toml"
    spec.write_text(SPEC, encoding="utf-8")
    return kit_of(spec)


class Disk:
    """Lets steps of writing pass, and refuses one, half done where it can be."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, fails_at: int, code: int) -> None:
        self.passed, self.fails_at, self.code = 0, fails_at, code
        for name in STEPS:
            monkeypatch.setattr(Path, name, self._watched(name, getattr(Path, name)))

    def _watched(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def step(path: Path, *values: Any, **more: Any) -> Any:
            self.passed += 1
            if self.passed == self.fails_at:
                if name.startswith("write"):
                    real(path, values[0][: len(values[0]) // 2], **more)
                raise OSError(self.code, os.strerror(self.code))
            return real(path, *values, **more)

        return step


@pytest.fixture
def _papers_once(kit: Kit, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is drawn for a kit is the same at each try, and not what is tried here."""
    from stitchcraft.kit import make

    papers = make.papers_of(kit, paper="A4")
    for name, value in (("papers_of", papers), ("bag_image", None), ("preview_png", b"png"), ("player_of", "page")):
        monkeypatch.setattr(make, name, lambda *_, value=value, **__: value)


@pytest.mark.usefixtures("_papers_once")
@pytest.mark.parametrize("earlier", [True, False], ids=["over an earlier kit", "into a new place"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EIO], ids=["full", "read-only", "broken"])
def test_whatever_step_of_the_writing_fails_the_folder_is_as_it_was(
    kit: Kit, tmp_path: Path, code: int, *, earlier: bool
) -> None:
    target = tmp_path / "new" / "kit"
    if earlier:
        write_kit(kit, target)
    before = tree(tmp_path)
    tried = 0
    for fails_at in range(1, 200):
        with pytest.MonkeyPatch.context() as patch:
            disk = Disk(patch, fails_at, code)
            try:
                write_kit(kit, target)
            except SpecError as error:
                line = str(error)
            else:
                break
        tried += 1
        assert line == f"{target}: cannot be written: {os.strerror(code)}"
        assert tree(tmp_path) == before
        assert (tmp_path / "new").exists() == earlier
    assert disk.passed == tried
    assert tried > len(tree(target))  # every file, and the folders


def test_a_file_that_cannot_be_written_stays_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(b"earlier")
    with pytest.MonkeyPatch.context() as patch:
        Disk(patch, 1, errno.ENOSPC)
        with pytest.raises(SpecError, match=r"a\.png: cannot be written: No space left on device"):
            whole_file(tmp_path / "a.png", b"later")
    assert tree(tmp_path) == {"a.png": b"earlier"}


def test_no_place_for_a_folder_beside_the_target_is_one_line(
    kit: Kit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> str:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(tempfile, "mkdtemp", refused)
    with pytest.raises(SpecError, match=r"kit: cannot be written: Read-only file system"):
        write_kit(kit, tmp_path / "a" / "kit")
    assert list(tmp_path.iterdir()) == []


# -- file systems that really are full, or closed --------------------------------------------------------


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Callable[[str], Path]]:
    place = tmp_path / "disk"
    place.mkdir()
    mounted = []

    def mount(options: str) -> Path:
        command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
        if shutil.which("mount") is None or subprocess.run(command, capture_output=True, check=False).returncode:
            pytest.skip("may not mount a file system")
        mounted.append(place)
        return place

    yield mount
    for one in mounted:
        subprocess.run(["umount", str(one)], check=True)


def test_on_a_disk_that_is_too_small_the_earlier_kit_stays(
    kit: Kit, tmp_path: Path, small_disk: Callable[[str], Path]
) -> None:
    write_kit(kit, tmp_path / "trial")
    size = sum((len(data) + 4095) // 4096 * 4096 for data in tree(tmp_path / "trial").values())
    disk = small_disk(f"size={size + 60_000 + size // 2}")
    write_kit(kit, disk / "kit")
    before = tree(disk)
    with pytest.raises(SpecError, match=r"kit: cannot be written: No space left on device"):
        write_kit(kit, disk / "kit")
    assert tree(disk) == before
    assert [path.name for path in disk.iterdir()] == ["kit"]


def test_on_a_read_only_disk_nothing_is_tried(kit: Kit, small_disk: Callable[[str], Path]) -> None:
    disk = small_disk("size=1m,ro")
    with pytest.raises(SpecError, match=r"kit: cannot be written: Read-only file system"):
        write_kit(kit, disk / "kit")


def test_a_catalogue_on_a_disk_that_fills_up_keeps_what_is_whole_and_says_the_rest(
    tmp_path: Path, small_disk: Callable[[str], Path]
) -> None:
    (tmp_path / "bag.toml").write_text(SPEC, encoding="utf-8")
    choices = "\n".join(f"s{n} = {{ bag = {{ width = {120 + n} }} }}" for n in range(4))
    (tmp_path / "all.toml").write_text(f'base = "bag.toml"\n[axes.size]\n{choices}\n', encoding="utf-8")
    make_kit(tmp_path / "bag.toml", tmp_path / "trial")
    size = sum((len(data) + 4095) // 4096 * 4096 for data in tree(tmp_path / "trial").values())
    disk = small_disk(f"size={int(2.6 * size)}")
    made = make_catalogue(tmp_path / "all.toml", disk / "all", engine=local(1))
    assert 1 <= made.made < 4
    assert made.failed == 4 - made.made
    told = [record.error for record in made.records() if record.error]
    assert all(line.endswith("cannot be written: No space left on device") for line in told)
    whole = [path for path in (disk / "all" / "kits").iterdir() if path.is_dir()]
    assert len(whole) == made.made
    assert all(tree(path).keys() == tree(tmp_path / "trial").keys() for path in whole)


# -- names and places ------------------------------------------------------------------------------------


def run(folder: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "stitchcraft", *words], cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), **more}, timeout=120,
    )  # fmt: skip


def test_spec_and_kit_may_have_any_names_and_lie_anywhere(tmp_path: Path) -> None:
    folder = tmp_path / "Tasche für Åse 'n' co" / "сумка 袋"
    folder.mkdir(parents=True)
    (tmp_path / "far").mkdir()
    (folder / "my bag ✂.toml").write_text(SPEC, encoding="utf-8")
    (folder / "link").symlink_to(tmp_path / "far")
    (tmp_path / "far" / "kit").mkdir()
    done = run(folder, "make", "../сумка 袋/./my bag ✂.toml", "-o", "link/../far/../сосед 袋", "--quiet", LC_ALL="C")
    assert (done.returncode, done.stderr) == (0, "")
    # a path is followed as the system follows it: link/.. is what lies around the folder that the link names
    assert (tmp_path / "сосед 袋" / "report.json").is_file()
    assert run(folder, "make", "my bag ✂.toml", "-o", "link/kit", "--quiet").returncode == 0
    assert tree(tmp_path / "far" / "kit") == tree(tmp_path / "сосед 袋")


def test_a_target_that_is_a_link_stays_one_and_what_it_names_is_replaced(kit: Kit, tmp_path: Path) -> None:
    (tmp_path / "stick").mkdir()
    write_kit(kit, tmp_path / "stick" / "kit")
    before = tree(tmp_path / "stick" / "kit")
    (tmp_path / "kit").symlink_to(Path("stick") / "kit")
    write_kit(kit, tmp_path / "kit", paper="Letter")
    assert sorted(path.name for path in tmp_path.rglob("*") if path.is_dir()) == ["cut", "kit", "kit", "stick"]
    assert (tmp_path / "kit").is_symlink()
    after = tree(tmp_path / "stick" / "kit")
    assert after.keys() == before.keys()
    assert after != before


@pytest.mark.parametrize("name", ["n" * 256, "deep/" * 1000 + "kit"], ids=["name", "path"])
def test_a_path_that_is_too_long_is_one_line(kit: Kit, tmp_path: Path, name: str) -> None:
    with pytest.raises(SpecError, match=r"File name too long$"):
        write_kit(kit, tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_the_clock_has_no_say(kit: Kit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_kit(kit, tmp_path / "one")
    for year, at in ((1970, 0.0), (2038, 2.2e9), (9000, 2.2e11)):
        monkeypatch.setattr(time, "time", lambda at=at: at)
        monkeypatch.setattr(time, "time_ns", lambda at=at: int(at * 1e9))
        write_kit(kit, tmp_path / str(year))
        assert tree(tmp_path / str(year)) == tree(tmp_path / "one")
