"""Every notebook runs from top to bottom, and was committed as it ran."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
LARGEST_BYTES = 400_000

pytestmark = pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def test_it_runs(path, tmp_path):
    copy = Path(shutil.copy(path, tmp_path))
    # a process of its own: kernels leave sockets behind, and warnings are errors here
    runner = subprocess.run(
        [sys.executable, ROOT / "tests" / "notebook_runner.py", copy],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert runner.returncode == 0, runner.stderr[-3000:]
    done = nbformat.read(copy, as_version=4)
    assert [cell.execution_count for cell in code_cells(done)] == list(range(1, len(code_cells(done)) + 1))


def test_it_was_committed_as_it_ran(path):
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    cells = code_cells(notebook)
    assert [cell.execution_count for cell in cells] == list(range(1, len(cells) + 1))
    outputs = [output for cell in cells for output in cell.outputs]
    assert len(outputs) >= 5
    assert not [output for output in outputs if output.output_type == "error" or output.get("name") == "stderr"]
    assert any("image/svg+xml" in output.get("data", {}) for output in outputs)


def test_it_is_a_lesson_and_no_program(path):
    notebook = nbformat.read(path, as_version=4)
    assert notebook.cells[0].source.startswith("# ")
    words = [cell for cell in notebook.cells if cell.cell_type == "markdown"]
    assert len(words) >= len(code_cells(notebook)) / 2
    for cell in code_cells(notebook):
        assert not re.search(r"^\s*(def|class|async|%|!)\s*\w", cell.source, re.MULTILINE)


def test_it_is_small_and_holds_nothing_of_the_machine_it_ran_on(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.encode()) <= LARGEST_BYTES
    assert not re.search(r"/tmp/|/home/|/root/|/Users/|site-packages|\d{4}-\d\d-\d\dT\d\d:", text)
