"""Packages that add shapes, decorations and fabrics: really installed, named in a spec, broken in every way."""

from __future__ import annotations

import re
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from stitchcraft import plugins
from stitchcraft.decoration import decoration_from
from stitchcraft.defaults import FABRICS
from stitchcraft.design import Purpose
from stitchcraft.errors import ParameterError, PluginError, SpecError
from stitchcraft.family import Family
from stitchcraft.parts import ClosureTab
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS, Tip
from stitchcraft.spec import spec_from_text

GUIDE = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
MODULE, ENTRIES = (
    re.search(rf"<!-- plug-in: {part} -->\n```\w+\n(.*?)^```$", GUIDE, re.MULTILINE | re.DOTALL)
    for part in ("module", "entry points")
)
SPEC = """
[bag]
width = 340
height = 300
[material]
fabric = "sailcloth"
[style]
profile = "slope"
decoration = { kind = "stars", pitch = 12, options = { points = 6, reach = "3 mm" } }
[tab]
tip = "spear"
[connector]
outline = "hexagon"
"""
Install = Callable[..., Path]


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Install]:
    """Lays a package on the path as an installer leaves it: modules, and a folder that says what it offers."""

    def lay(name: str, module: str, entries: str, version: str = "1.0") -> Path:
        place = tmp_path / name
        info = place / f"{name}-{version}.dist-info"
        info.mkdir(parents=True)
        (place / f"{name}.py").write_text(module, encoding="utf-8")
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n", encoding="utf-8")
        (info / "entry_points.txt").write_text(textwrap.dedent(entries), encoding="utf-8")
        monkeypatch.syspath_prepend(place)
        monkeypatch.delitem(sys.modules, name, raising=False)
        plugins.forget()
        return place

    yield lay
    plugins.forget()
    for registry in (TIPS, PROFILES, OUTLINES, FABRICS):
        registry._loaded.clear()
    sys.modules.pop("harbour_shapes", None)


def harbour(install: Install) -> None:
    """The package of the contributors' guide, word for word."""
    assert MODULE is not None
    assert ENTRIES is not None
    # pyproject's table of entry points, as an installer writes it down
    entries = re.sub(r'\[project\.entry-points\."([\w.]+)"\]', r"[\1]", ENTRIES[1]).replace('"', "")
    install("harbour_shapes", MODULE[1], entries)


def test_the_package_of_the_guide_is_used_from_a_spec(install: Install) -> None:
    harbour(install)
    family = Family.from_spec(spec_from_text(SPEC))
    assert family.style.fabric.name == "sailcloth"
    parts = {part.name: part.design for part in family.made()}
    decorated = [stop for stop in parts["tab-front"].stops if stop.purpose is Purpose.DECORATE]
    assert len(decorated) == 1
    assert len(decorated[0].elements) > 20
    # a star of six points has thirteen corners, the first of them twice
    assert {len(element.path) for element in decorated[0].elements} == {13}
    tab = family.closure_tab
    assert tab.shape.bounds[1] == pytest.approx(-tab.length_mm)
    assert np.ptp(family.corner_accent.free_edge, axis=0).min() > 30
    assert len(family.strap_connector.shape.exterior.coords) == 7


def test_in_python_it_is_used_by_name_like_our_own(install: Install) -> None:
    harbour(install)
    assert ClosureTab(tip="spear").shape.area < ClosureTab(tip="square").shape.area
    assert "spear" in TIPS
    assert list(TIPS)[-1] == "spear"
    assert decoration_from("stars", {"reach": "1/4 in"}).reach == 6.35
    with pytest.raises(ParameterError, match=r"stars option is 'tips'; it needs to be one of inset, shift, pitch"):
        decoration_from("stars", {"tips": 4})


def test_a_word_that_nobody_offers_is_refused_with_all_that_there_are(install: Install) -> None:
    with pytest.raises(SpecError, match=r'tab\.tip\.name is "spear"; it needs to be one of round, .*keyhole$'):
        spec_from_text("[bag]\nwidth = 300\nheight = 300\n[tab]\ntip = 'spear'")
    harbour(install)
    with pytest.raises(SpecError, match=r'tab\.tip\.name is "spaer"; .*keyhole, spear; did you mean "spear"\?$'):
        spec_from_text("[bag]\nwidth = 300\nheight = 300\n[tab]\ntip = 'spaer'")


def test_a_package_is_loaded_when_a_name_of_its_is_asked_for_and_not_before(install: Install) -> None:
    place = install("noisy", "raise SystemError('should not be loaded')", "[stitchcraft.tips]\nloud = noisy:LOUD\n")
    code = (
        "import sys; from stitchcraft import ClosureTab; ClosureTab(tip='ogee').front(); 'noisy' in sys.modules and 1/0"
    )
    path = {"PYTHONPATH": f"{place}:{Path(plugins.__file__).parents[1]}"}
    done = subprocess.run([sys.executable, "-c", code], env=path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert "loud" in TIPS


@pytest.mark.parametrize(
    ("module", "entry", "line"),
    [
        ("import no_such_module_anywhere", "broken:TIP",
         r"tip 'odd' of broken 1\.0: cannot be loaded \(ModuleNotFoundError: No module named 'no_such_module_any.*'\)"),
        ("TIP = 3", "broken:TOP", r"tip 'odd' of broken 1\.0: cannot be loaded \(AttributeError: .*TOP.*\)"),
        ("TIP = 3", "broken:TIP", r"tip 'odd' of broken 1\.0: is a int; it needs to be a stitchcraft\.parts\.tips\."),
        ("raise RuntimeError('two\\nlines')", "broken:TIP", r"cannot be loaded \(RuntimeError: two lines\)"),
        ("from stitchcraft.parts.tips import Tip\ndef make(width, depth): return 1 / 0\nTIP = Tip(make, 0.5, 1.0)",
         "broken:TIP", r"tip 'odd' of broken 1\.0: fails \(ZeroDivisionError: division by zero\)"),
    ],
)  # fmt: skip
def test_a_broken_package_is_told_of_in_one_line(install: Install, module: str, entry: str, line: str) -> None:
    install("broken", module, f"[stitchcraft.tips]\nodd = {entry}\n")
    with pytest.raises(PluginError, match=line) as told:
        ClosureTab(tip="odd")
    assert "\n" not in str(told.value)
    assert ClosureTab(tip="round").front().stops  # and everything else works


def test_a_decoration_that_fails_is_told_of_in_one_line(install: Install) -> None:
    module = """
        from dataclasses import dataclass
        from typing import ClassVar
        from stitchcraft import Decoration
        @dataclass(frozen=True, slots=True, kw_only=True)
        class Odd(Decoration):
            kind: ClassVar[str] = "odd"
            def _draw(self, area, anchor):
                raise IndexError("out of thread")
    """
    install("broken", textwrap.dedent(module), "[stitchcraft.decorations]\nodd = broken:Odd\nint = builtins:int\n")
    with pytest.raises(PluginError, match=r"decoration 'odd' of broken: fails \(IndexError: out of thread\)"):
        ClosureTab(decoration=decoration_from("odd")).front()
    with pytest.raises(PluginError, match=r"decoration 'int' of broken 1\.0: is a type; it needs to be a dataclass"):
        decoration_from("int")


def test_two_packages_with_one_name_are_told_apart(install: Install) -> None:
    for name in ("one", "two"):
        install(name, "TIP = None", f"[stitchcraft.tips]\nodd = {name}:TIP\n")
    with pytest.raises(PluginError, match=r"tip 'odd' of one 1\.0 and two 1\.0: two packages offer it; uninstall one"):
        TIPS["odd"]


def test_a_name_of_our_own_stays_our_own(install: Install) -> None:
    ours = TIPS["round"]
    install("broken", "raise SystemError", "[stitchcraft.tips]\nround = broken:TIP\n")
    assert TIPS["round"] is ours
    assert list(TIPS).count("round") == 1


@pytest.mark.usefixtures("install")
def test_a_script_adds_a_shape_of_its_own() -> None:
    def blunt(width: float, depth: float) -> np.ndarray:
        return np.array([[-width / 2, 0], [-width / 4, -depth], [width / 4, -depth], [width / 2, 0]])

    TIPS.add("blunt", Tip(blunt, 0.3, 2.0))
    assert ClosureTab(tip="blunt").front().stops
    assert spec_from_text("[bag]\nwidth = 300\nheight = 300\n[tab]\ntip = 'blunt'").tab.tip.name == "blunt"
    for name, value, says in (
        ("blunt", Tip(blunt, 0.3, 2.0), "name is 'blunt'; it needs to be other than"),
        ("round", Tip(blunt, 0.3, 2.0), "name is 'round'"),
        ("a b", Tip(blunt, 0.3, 2.0), "name is 'a b'; it needs to be a plain word"),
        ("flat", blunt, "tips is <function"),
    ):
        with pytest.raises(ParameterError, match=says):
            TIPS.add(name, value)  # type: ignore[arg-type]
    plugins.forget()
    assert "blunt" not in TIPS
