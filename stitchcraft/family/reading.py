"""From the values of a spec to a family's."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from stitchcraft.bag import Bag
from stitchcraft.decoration import Decoration, decoration_from
from stitchcraft.defaults import fabric_profile
from stitchcraft.errors import ArtworkError, ParameterError
from stitchcraft.family.part import Style
from stitchcraft.family.room import tab_width
from stitchcraft.parts import FASTENERS, Edge, Fastener, Palette, Snap
from stitchcraft.spec import DecorationTable, EdgeTable, Spec


def family_options(spec: Spec) -> dict[str, Any]:
    """Turn a spec's values into the arguments of a `Family`."""
    palette = Palette(**spec.material.palette.given(), **_only(weight=spec.material.thread))
    shared: dict[str, Any] = {"palette": palette}
    if spec.material.fabric is not None:
        shared["fabric"] = fabric_profile(spec.material.fabric)
    shared |= _only(cloth=spec.material.cloth, accent_cloth=spec.material.accent_cloth)
    shared |= _profile_of(spec)
    shared |= _decorated(spec.style.decoration, "style.decoration") | _edged(spec.style.edge)
    tab = spec.tab.given()
    for key in ("tip", "snap", "fastener", "decoration"):
        tab.pop(key, None)
    tab |= _decorated(spec.tab.decoration, "tab.decoration") | _tip_of(spec)
    bag = Bag.from_spec(spec)
    tab |= _fastener_of(spec, bag)
    corner = _without(spec.corner.given(), "edge", "decoration")
    corner |= _decorated(spec.corner.decoration, "corner.decoration") | _edged(spec.corner.edge)
    connector = _without(spec.connector.given(), "decoration") | _decorated(
        spec.connector.decoration, "connector.decoration"
    )
    return {
        "bag": bag,
        "style": Style(**shared),
        "tab": tab,
        "corner": corner,
        "connector": connector,
        "label": spec.label.given(),
        "drop": spec.closure.drop,
        "parts": spec.parts,
        "name": spec.name,
        "units": spec.units,
    }


@contextlib.contextmanager
def _named(place: str) -> Iterator[None]:
    """Say of an error to which table of the spec it belongs."""
    try:
        yield
    except ParameterError as error:
        raise ParameterError(f"{place}.{error.name.split(' ')[-1]}", error.value, error.needs) from error
    except ArtworkError as error:
        raise ArtworkError(f"{place}: {error}") from error


def _only(**values: Any) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}


def _without(values: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in values.items() if key not in keys}


def _decorated(table: DecorationTable | None, place: str) -> dict[str, Decoration]:
    if table is None:
        return {}
    with _named(place):
        return {
            "decoration": decoration_from(
                table.kind, _without(table.given(), "kind", "options") | dict(table.options or ())
            )
        }


def _edged(table: EdgeTable | None) -> dict[str, Edge]:
    return {} if table is None else {"edge": Edge(**table.given())}


def _fastener_of(spec: Spec, bag: Bag) -> dict[str, Fastener]:
    """The fastener that is asked for; sizes that are left out suit the tab's width."""
    width = tab_width(bag) if spec.tab.width is None else spec.tab.width
    snap, other = spec.tab.snap.given(), spec.tab.fastener
    if other is not None:
        return {"fastener": FASTENERS[other.kind].suited(width, **_without(other.given(), "kind"))}
    return {"snap": Snap.suited(width, **snap)} if snap else {}


def _tip_of(spec: Spec) -> dict[str, Any]:
    tip = spec.tab.tip
    if tip.svg is not None:
        # the reader of drawings loads the path library, which no other spec needs
        from stitchcraft.geometry.svg_paths import read_svg, tip_path

        with _named("tab.tip.svg"):
            return {"tip": tip_path(read_svg(tip.svg, name=tip.svg.name))}
    return _only(tip=tip.name)


def _profile_of(spec: Spec) -> dict[str, Any]:
    profile = spec.style.profile
    if profile.svg is None:
        return _only(profile=profile.name)
    from stitchcraft.geometry.svg_paths import profile_path, read_svg  # as for a tip

    with _named("style.profile.svg"):
        return {"profile": profile_path(read_svg(profile.svg, name=profile.svg.name))}
