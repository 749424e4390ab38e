"""Runs a notebook in the interpreter that runs this.

``python tests/notebook_runner.py notebooks/*.ipynb`` runs notebooks and writes them back with their outputs.
"""

import json
import os
import sys
import tempfile
from pathlib import Path
from unittest import mock

import nbformat
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import AsyncKernelManager
from nbclient import NotebookClient

_KERNEL = "this-interpreter"


def executed(path, *, timeout=120):
    """Run a notebook in a folder of its own, away from the user's settings.

    Args:
        path: The notebook; it is only read.
        timeout: Seconds that one cell may take.

    Returns:
        The notebook with its outputs, without times of day and paths.

    Raises:
        CellExecutionError: If a cell fails.
    """
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        spec = home / "kernels" / _KERNEL
        spec.mkdir(parents=True)
        launch = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
        spec_json = {"argv": launch, "display_name": "Python 3", "language": "python"}
        (spec / "kernel.json").write_text(json.dumps(spec_json))
        work = home / "work"
        work.mkdir()
        kernels = KernelSpecManager(kernel_dirs=[str(home / "kernels")], ensure_native_kernel=False)
        manager = AsyncKernelManager(kernel_name=_KERNEL, kernel_spec_manager=kernels)
        client = NotebookClient(
            notebook, km=manager, timeout=timeout, record_timing=False, resources={"metadata": {"path": str(work)}}
        )
        with mock.patch.dict(os.environ, {"IPYTHONDIR": str(home / "ipython"), "JUPYTER_RUNTIME_DIR": str(home)}):
            client.execute()
    notebook.metadata.pop("signature", None)
    notebook.metadata.kernelspec = {"display_name": "Python 3", "language": "python", "name": "python3"}
    notebook.metadata.language_info = {"name": "python"}  # no version: it would change with every interpreter
    return notebook


if __name__ == "__main__":
    for name in sys.argv[1:]:
        done = executed(name)
        nbformat.write(done, name)
        print(f"{name}: {Path(name).stat().st_size // 1000} kB")  # noqa: T201  a script's own words
