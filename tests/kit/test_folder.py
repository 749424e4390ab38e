"""The guarantee about a kit's folder: the earlier kit is whole or the new one is, whatever happens."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from stitchcraft.errors import SpecError
from stitchcraft.kit import make_kit
from stitchcraft.kit.folder import whole_folder

PLAIN = (
    'parts = ["tab"]\n[bag]\nwidth = 200\nheight = 200\n[machine]\nformats = ["dst"]\n[style]\ndecoration = "none"\n'
)
MAKER = """
import sys
from pathlib import Path
from stitchcraft.kit.folder import whole_folder

print("ready", flush=True)
target, mark = Path(sys.argv[1]), sys.argv[2]
while True:
    with whole_folder(target) as work:
        (work / "cut").mkdir()
        for n in range(20):
            (work / f"part-{n}.dst").write_text(mark * 1000)
        (work / "cut" / "a.svg").write_text(mark)
        (work / "report.json").write_text("{}")
"""


def spec_file(folder: Path, text: str = PLAIN) -> Path:
    path = folder / "bag.toml"
    path.write_text(text, encoding="utf-8")
    return path


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def write(work: Path, mark: str) -> None:
    (work / "part-1.dst").write_text(mark)
    (work / "report.json").write_text("{}")


def is_whole(folder: Path) -> bool:
    """All files of one maker, none missing, and listed."""
    held = tree(folder)
    marks = {data.decode()[:1] for name, data in held.items() if name != "report.json"}
    listed = json.loads(held["report.json"])["written"]
    return len(marks) == 1 and sorted(held) == listed and len(held) == 22


def test_kit_lists_all_its_files(tmp_path):
    make_kit(spec_file(tmp_path), tmp_path / "kit")
    report = json.loads((tmp_path / "kit" / "report.json").read_text(encoding="utf-8"))
    assert report["written"] == sorted(tree(tmp_path / "kit"))
    assert "tab-front.dst" in report["written"]


@pytest.mark.parametrize("name", ["notes.txt", "cut/own.svg", "bag.toml", ".hidden"])
def test_kit_with_a_makers_own_file_in_it_is_refused_and_untouched(tmp_path, name):
    with whole_folder(tmp_path / "kit") as work:
        write(work, "a")
    own = tmp_path / "kit" / name
    own.parent.mkdir(exist_ok=True)
    own.write_text("mine", encoding="utf-8")
    before = tree(tmp_path / "kit")
    with pytest.raises(SpecError, match=f"holds {name}, no part of an earlier kit"), whole_folder(tmp_path / "kit"):
        pass
    assert tree(tmp_path / "kit") == before
    assert [path.name for path in tmp_path.iterdir()] == ["kit"]


def test_folder_with_a_report_of_something_else_is_refused(tmp_path):
    (tmp_path / "kit").mkdir()
    for text in ("{}", "[]", "no json", '{"written": 3}'):
        (tmp_path / "kit" / "report.json").write_text(text, encoding="utf-8")
        with pytest.raises(SpecError, match=r"holds report\.json, no part of"), whole_folder(tmp_path / "kit"):
            pass


@pytest.mark.parametrize("name", ["kit of Ångström & 'Søn'", "комплект", "袋" * 80, "k" * 255, " ", "-o", "a\nb"])
def test_folder_may_have_any_name_that_a_file_may_have(tmp_path, name):
    for mark in "ab":
        with whole_folder(tmp_path / name) as work:
            write(work, mark)
    assert (tmp_path / name / "part-1.dst").read_text() == "b"
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_missing_parents_are_made_and_taken_away_again_if_nothing_came_of_it(tmp_path):
    with whole_folder(tmp_path / "a" / "b" / "kit") as work:
        write(work, "a")
    assert (tmp_path / "a" / "b" / "kit" / "part-1.dst").is_file()
    with pytest.raises(SpecError, match="No space left"), whole_folder(tmp_path / "c" / "d" / "kit") as work:
        raise OSError(28, "No space left on device")
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


@pytest.mark.parametrize("kind", ["file", "dangling link", "fifo", "file as parent"])
def test_what_is_no_folder_is_refused(tmp_path, kind):
    target = tmp_path / "kit"
    match kind:
        case "file":
            target.write_text("mine", encoding="utf-8")
        case "dangling link":
            target.symlink_to(tmp_path / "nowhere")
        case "fifo":
            os.mkfifo(target)
        case _:
            (tmp_path / "file").write_text("mine", encoding="utf-8")
            target = tmp_path / "file" / "kit"
    with pytest.raises(SpecError) as caught, whole_folder(target):
        pass
    assert "\n" not in str(caught.value)
    assert len(list(tmp_path.iterdir())) == 1


def test_folder_that_one_is_in_is_refused(tmp_path, monkeypatch):
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    for target in (".", "..", tmp_path / "here"):
        with pytest.raises(SpecError, match="the folder you are in"), whole_folder(Path(target)):
            pass


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the root user may write anywhere")
def test_place_without_permission_is_refused(tmp_path):
    (tmp_path / "locked").mkdir(mode=0o500)
    with pytest.raises(SpecError, match="Permission denied"), whole_folder(tmp_path / "locked" / "kit"):
        pass


def test_leftovers_of_a_killed_process_go_with_the_next_kit_and_those_of_a_living_one_stay(tmp_path):
    left = tmp_path / ".kit.being-made.abcdefgh"
    left.mkdir()
    (left / "part.dst").write_text("half", encoding="utf-8")
    (tmp_path / ".kit.other").mkdir()
    with whole_folder(tmp_path / "kit") as outer:
        assert not left.exists()
        with whole_folder(tmp_path / "kit") as inner:
            assert outer.exists()
            write(inner, "b")
        write(outer, "a")
    assert sorted(path.name for path in tmp_path.iterdir()) == [".kit.other", "kit"]
    assert (tmp_path / "kit" / "part-1.dst").read_text() == "a"


def test_kit_set_aside_by_a_killed_process_comes_back(tmp_path):
    aside = tmp_path / ".kit.being-made.abcdefgh.earlier"
    with whole_folder(aside) as work:
        write(work, "a")
    with pytest.raises(SpecError, match="gone wrong"), whole_folder(tmp_path / "kit"):
        raise OSError(5, "gone wrong")
    assert (tmp_path / "kit" / "part-1.dst").read_text() == "a"
    assert [path.name for path in tmp_path.iterdir()] == ["kit"]


def test_exchange_without_the_system_call_keeps_the_same_promise(tmp_path, monkeypatch):
    monkeypatch.setattr("stitchcraft.kit.folder._renameat2", lambda *_: False)
    for mark in "ab":
        with whole_folder(tmp_path / "kit") as work:
            write(work, mark)
    assert (tmp_path / "kit" / "part-1.dst").read_text() == "b"
    assert [path.name for path in tmp_path.iterdir()] == ["kit"]


def test_killed_at_any_moment_the_folder_is_whole(tmp_path):
    """Two processes that replace one folder over and over, each killed at moments drawn by lot."""
    chance = random.Random(5)
    target = tmp_path / "kit"
    for mark in "ab" * 3:
        maker = subprocess.Popen([sys.executable, "-c", MAKER, str(target), mark], stdout=subprocess.PIPE)
        assert maker.stdout is not None
        maker.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.06))
        maker.send_signal(signal.SIGKILL)
        maker.wait()
        maker.stdout.close()
        if target.exists():
            assert is_whole(target)
    with whole_folder(target) as work:
        write(work, "c")
    assert [path.name for path in tmp_path.iterdir()] == ["kit"]


def test_several_at_once_each_leave_a_whole_folder(tmp_path):
    errors: list[Exception] = []

    def make(mark: str) -> None:
        try:
            for _ in range(60):
                with whole_folder(tmp_path / "kit") as work:
                    write(work, mark)
        except SpecError as error:
            errors.append(error)

    threads = [threading.Thread(target=make, args=(mark,)) for mark in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert (tmp_path / "kit" / "part-1.dst").read_text() in "abcd"
    assert [path.name for path in tmp_path.iterdir()] == ["kit"]


def test_disk_that_fills_up_leaves_the_earlier_kit(tmp_path):
    """A limit on the size of a file stands for the full disk; the refusal is one line and exit status 2."""
    spec = spec_file(tmp_path)
    make_kit(spec, tmp_path / "kit")
    before = tree(tmp_path / "kit")
    program = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000)); "
        "from stitchcraft.cli import main; main(sys.argv[1:])"
    )
    command = [sys.executable, "-c", program, "make", str(spec), "-o", str(tmp_path / "kit"), "--quiet"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert "cannot be written: File too large" in done.stderr
    assert done.stderr.count("\n") == 1
    assert tree(tmp_path / "kit") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bag.toml", "kit"]
