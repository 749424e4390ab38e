"""Streams that are closed or full, readers that leave, signals in the middle: one line, a status, nothing half-made."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from stitchcraft.cli import main

ROOT = Path(__file__).parents[1]
SPEC = """\
name = "Ångström"
parts = ["tab"]
[bag]
width = 120
height = 140
[machine]
formats = ["dst"]
[style]
decoration = "none"
"""
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="signals and devices as Linux has them")


def shell(command: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in which $S is the program."""
    program = f'"{sys.executable}" -m stitchcraft'
    return subprocess.run(
        ["bash", "-c", command.replace("$S", program)], cwd=folder, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), **more}, timeout=120,
    )  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    (folder / "bag.toml").write_text(SPEC, encoding="utf-8")
    assert shell("$S make bag.toml -o kit --quiet", folder).returncode == 0
    return folder


@pytest.mark.parametrize(
    ("command", "status"),
    [
        ("$S check kit/tab-front.dst >&-", 0),
        ("$S check kit/tab-front.dst >&- 2>&- <&-", 0),
        ("$S check none.dst >&- 2>&-", 2),
        ("$S draw none.toml -o a.png 2>&-", 2),
        ("$S check kit/tab-front.dst --json | true; exit ${PIPESTATUS[0]}", 0),
        ("$S fields | head -1 > first; exit ${PIPESTATUS[0]}", 0),
        ("$S check kit/tab-front.dst 2>/dev/full >/dev/full", 2),
    ],
)
def test_closed_or_left_streams_are_no_fault_of_the_program(made: Path, command: str, status: int) -> None:
    done = shell(command, made)
    assert (done.returncode, done.stderr) == (status, "")


def test_a_kit_is_whole_though_nothing_can_be_said_of_it(made: Path) -> None:
    done = shell("$S make bag.toml -o unsaid >&- 2>&- <&-", made)
    assert done.returncode == 0
    held = {path.name: path.read_bytes() for path in (made / "unsaid").iterdir() if path.is_file()}
    assert held == {path.name: path.read_bytes() for path in (made / "kit").iterdir() if path.is_file()}


def test_output_that_is_full_is_one_line_and_no_fault_of_the_program(made: Path) -> None:
    done = shell("$S check kit/tab-front.dst >/dev/full", made)
    assert done.returncode == 2
    assert done.stderr == "stitchcraft: the output: cannot be written or read: No space left on device\n"


def test_letters_that_the_terminal_does_not_know_do_not_stop_it(made: Path) -> None:
    done = shell("$S make bag.toml -o $'k\\xff\\xc3\\xaf' --json", made, PYTHONIOENCODING="ascii", LC_ALL="POSIX")
    assert done.returncode == 0
    assert json.loads(done.stdout)["name"]
    assert shell("$S check $'k\\xff\\xc3\\xaf'/tab-front.dst", made, PYTHONIOENCODING="ascii").returncode == 0


def test_a_spec_from_a_pipe_is_refused_in_one_line(made: Path) -> None:
    for command in ("$S make <(cat bag.toml) -o piped", "cat bag.toml | $S make /dev/stdin -o piped"):
        done = shell(command, made)
        assert done.returncode == 2
        assert done.stderr.endswith(": this is not a plain file; a spec is a TOML file\n")
        assert done.stderr.count("\n") == 1
    assert not (made / "piped").exists()


def _heeding_signals() -> None:
    """Undo what nohup, or a shell that puts work into its background, hands down; the program honours it."""
    for one in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(one, signal.SIG_DFL)


def started(command: list[str], folder: Path, watched: str) -> subprocess.Popen[str]:
    """Start the program and wait until it has begun to write."""
    process = subprocess.Popen(
        [sys.executable, "-m", "stitchcraft", *command], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, start_new_session=True,
        preexec_fn=_heeding_signals,
    )  # fmt: skip
    end = time.monotonic() + 60
    while not list(folder.glob(watched)) and process.poll() is None and time.monotonic() < end:
        time.sleep(0.001)
    return process


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_stopped_while_it_writes_it_says_so_and_leaves_the_earlier_kit(
    made: Path, tmp_path: Path, number: signal.Signals
) -> None:
    shutil.copy(made / "bag.toml", tmp_path)
    shutil.copytree(made / "kit", tmp_path / "kit")
    before = {path: path.read_bytes() for path in (tmp_path / "kit").rglob("*") if path.is_file()}
    process = started(["make", "bag.toml", "-o", "kit", "--paper", "Letter"], tmp_path, ".kit.being-made.*/*.dst")
    process.send_signal(number)
    said = process.communicate(timeout=60)
    assert (process.returncode, said[0], said[1].strip()) == (
        130, "", "stitchcraft: stopped; nothing half-made is left",
    )  # fmt: skip
    assert {path: path.read_bytes() for path in (tmp_path / "kit").rglob("*") if path.is_file()} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bag.toml", "kit"]


@pytest.mark.parametrize(("number", "everyone"), [(signal.SIGINT, True), (signal.SIGTERM, False)])
def test_a_catalogue_that_is_stopped_ends_the_kits_in_hand_and_goes_on_later(
    made: Path, tmp_path: Path, number: signal.Signals, everyone: bool
) -> None:
    shutil.copy(made / "bag.toml", tmp_path)
    sizes = "\n".join(f"s{n} = {{ bag = {{ width = {120 + n} }} }}" for n in range(8))
    (tmp_path / "all.toml").write_text(f'base = "bag.toml"\n[axes.size]\n{sizes}\n', encoding="utf-8")
    process = started(["catalogue", "all.toml", "-o", "all", "--jobs", "1"], tmp_path, "all/kits/s0/report.json")
    if everyone:
        os.killpg(process.pid, number)  # as a terminal does
    else:
        process.send_signal(number)
    said = process.communicate(timeout=60)
    assert (process.returncode, said[0], said[1].strip()) == (
        130, "", "stitchcraft: stopped; nothing half-made is left",
    )  # fmt: skip
    assert [path.name for path in (tmp_path / "all" / "kits").iterdir() if path.name.startswith(".")] == []
    kits = list((tmp_path / "all" / "kits").iterdir())
    assert 1 <= len(kits) < 8
    assert all("written" in json.loads((kit / "report.json").read_text(encoding="utf-8")) for kit in kits)


def test_signals_are_as_they_were_when_main_has_ended(capsys: pytest.CaptureFixture[str]) -> None:
    before = signal.getsignal(signal.SIGTERM)
    with pytest.raises(SystemExit):
        main(["fields"])
    assert signal.getsignal(signal.SIGTERM) is before
    assert capsys.readouterr().out
