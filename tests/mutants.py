"""Change one small thing in a module at a time, and see whether its tests notice.

    python tests/mutants.py geometry.hatching 25 tests/geometry/test_hatching.py

A sample of the possible changes, the same at every run, is tried: a comparison turned round or moved by its boundary,
arithmetic exchanged, a number one larger or smaller, a condition negated, a value not returned, a statement left out.
The files stay as they are: each change is made in a process of its own, while the module is imported. What survives is
printed, with its line; reading it says whether a test is missing or the change makes no difference.
"""

from __future__ import annotations

import ast
import contextlib
import copy
import importlib.util
import os
import random
import resource
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
SECONDS = 120
"""Of processor time for one change: what takes longer goes round in circles, which the tests notice."""

COMPARISONS: dict[type, list[type]] = {
    ast.Lt: [ast.LtE, ast.GtE], ast.LtE: [ast.Lt, ast.Gt], ast.Gt: [ast.GtE, ast.LtE], ast.GtE: [ast.Gt, ast.Lt],
    ast.Eq: [ast.NotEq], ast.NotEq: [ast.Eq], ast.In: [ast.NotIn], ast.NotIn: [ast.In],
    ast.Is: [ast.IsNot], ast.IsNot: [ast.Is],
}  # fmt: skip
ARITHMETIC: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip


def changes(tree: ast.Module) -> Iterator[tuple[ast.Module, int, str, str]]:
    """Every changed tree, lazily made, with its line and the words before and after."""
    hints = {id(inner) for node in ast.walk(tree) for hint in _hints(node) for inner in ast.walk(hint)}
    for index, node in enumerate(ast.walk(tree)):
        if id(node) in hints:
            continue
        for kind in _kinds(node):
            yield _changed(tree, index, kind)


def _hints(node: ast.AST) -> list[ast.AST]:
    """Type hints, decorators and format specs: changed, they change nothing or everything."""
    found = [getattr(node, name, None) for name in ("annotation", "returns", "format_spec")]
    return [hint for hint in (*found, *getattr(node, "decorator_list", ())) if hint is not None]


def _kinds(node: ast.AST) -> list[Any]:
    match node:
        case ast.Compare():
            return [(k, other) for k, op in enumerate(node.ops) for other in COMPARISONS[type(op)]]
        case ast.BinOp() | ast.AugAssign():
            return [ARITHMETIC[type(node.op)]] if type(node.op) in ARITHMETIC else []
        case ast.Constant(value=bool()):
            return ["not"]
        case ast.Constant(value=int() | float()):
            return [1, -1]
        case ast.BoolOp() | ast.If() | ast.While() | ast.IfExp():
            return ["not"]
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert()):
            return ["bare"]
        case ast.Return(value=ast.expr()):
            return ["nothing"]
        case ast.Raise() | ast.Continue() | ast.Break() | ast.Expr(value=ast.Call()):
            return ["out"]
        case ast.Assign(targets=[ast.Subscript() | ast.Attribute(), *_]):
            return ["out"]
    return []


def _changed(tree: ast.Module, index: int, kind: Any) -> tuple[ast.Module, int, str, str]:
    tree = copy.deepcopy(tree)
    node: Any = list(ast.walk(tree))[index]
    before, new = ast.unparse(node).split("\n")[0], _made(node, kind)
    for parent in ast.walk(tree):
        for name, value in ast.iter_fields(parent):
            if value is node:
                setattr(parent, name, new)
            elif isinstance(value, list):
                value[:] = [new if item is node else item for item in value]
    ast.fix_missing_locations(tree)
    return tree, node.lineno, before, ast.unparse(new).split("\n")[0]


def _made(node: Any, kind: Any) -> Any:
    """What takes the node's place: itself, changed, or another."""
    match kind:
        case (k, other):
            node.ops[k] = other()
        case int():
            node.value += kind
        case type():
            node.op = kind()
        case "bare":
            return node.operand
        case "nothing":
            node.value = ast.Constant(None)
        case "out":
            return ast.Pass()
        case _:
            _negated(node)
    return node


def _negated(node: Any) -> None:
    if isinstance(node, ast.Constant):
        node.value = not node.value
    elif isinstance(node, ast.BoolOp):
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    else:
        node.test = ast.UnaryOp(ast.Not(), node.test)


class _Changed:
    """An importer that knows one module only, in its changed form."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self._name, self._path, self._code = name, path, compile(tree, str(path), "exec")

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> Any:  # noqa: ARG002  the import system's
        return importlib.util.spec_from_file_location(name, self._path, loader=self) if name == self._name else None  # type: ignore[arg-type]

    def create_module(self, spec: Any) -> None:
        """The usual one will do."""

    def exec_module(self, module: Any) -> None:
        exec(self._code, module.__dict__)


def passes(name: str, path: Path, tree: ast.Module, tests: list[str]) -> bool:
    """Whether the tests pass, in a process of their own, with this tree as that module."""
    pid = os.fork()
    if pid:
        return os.waitpid(pid, 0)[1] == 0
    with contextlib.suppress(BaseException):
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        signal.alarm(10 * SECONDS)
        sink = os.open(os.devnull, os.O_WRONLY)
        os.dup2(sink, 1)
        os.dup2(sink, 2)
        sys.meta_path.insert(0, _Changed(name, path, tree))  # type: ignore[arg-type]
        options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=1", "-W", "ignore::pytest.PytestWarning"]
        os._exit(int(pytest.main([*options, *tests])))
    os._exit(99)


def main(module: str, count: str, *tests: str) -> None:
    """Try a sample of the changes to a module and print what survives."""
    name, path = f"stitchcraft.{module}", ROOT.joinpath("stitchcraft", *module.split(".")).with_suffix(".py")
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if not passes(name, path, tree, list(tests)):
        sys.exit("the tests do not pass as it is")
    every = list(changes(tree))
    picked = random.Random(module).sample(every, min(int(count), len(every)))
    survived = [change for change in picked if passes(name, path, change[0], list(tests))]
    for _, line, before, after in survived:
        sys.stdout.write(f"line {line}: {before}  ->  {after}\n")
    sys.stdout.write(f"{module}: {len(picked) - len(survived)} of {len(picked)} noticed, {len(every)} possible\n")


if __name__ == "__main__":
    os.chdir(ROOT)
    main(*sys.argv[1:])
