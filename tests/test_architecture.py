"""The import layers of pyproject.toml hold."""

from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports


def test_imports_point_down_the_stack():
    assert lint_imports(no_cache=True) == EXIT_STATUS_SUCCESS
