"""A part as drawn: its colour stops in the order of sewing."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.defaults import CLOTH
from stitchcraft.design.elements import Element
from stitchcraft.design.purposes import Purpose
from stitchcraft.design.sketches import draw_elements, key, number_stops, start_of
from stitchcraft.design.threads import Thread
from stitchcraft.geometry.sketch import PAGE_MM, Sketch


@dataclass(frozen=True, slots=True, eq=False)
class Stop:
    """One colour stop: a run of sewing that ends with the machine waiting for a thread or for hands.

    Attributes:
        purpose: What it is for.
        thread: The thread to use.
        elements: What is sewn; the planner chooses the order unless *ordered*.
        before: What the maker does before pressing start; empty if nothing but the thread.
        ordered: Sew the elements in the order given.
    """

    purpose: Purpose
    thread: Thread
    elements: tuple[Element, ...]
    before: str = ""
    ordered: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "elements", tuple(self.elements))


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """A part as drawn, before it is stitched.

    Attributes:
        name: Name of the part, such as ``"tab-front"``.
        stops: Colour stops in the order of sewing.
        origin: The point, mm, that the template's crosshair takes.
        basted_at: Which stop, by index, a basting box goes before, if there is one: the first that finds all
            the cloth in the hoop.
    """

    name: str
    stops: tuple[Stop, ...]
    origin: tuple[float, float] = (0.0, 0.0)
    basted_at: int = 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "stops", tuple(self.stops))

    def __repr__(self) -> str:
        return f"<Design {self.name!r}: {', '.join(stop.purpose.value for stop in self.stops)}>"

    def _repr_svg_(self) -> str | None:
        """Draw itself in a notebook: lines, columns and areas in their threads' colours, the stops numbered."""
        stops = [stop for stop in self.stops if stop.elements]
        sketch = Sketch()
        for stop in stops:
            draw_elements(sketch, stop.elements, stop.thread.colour)
        if sketch.bounds is None:
            return None
        left, bottom, right, top = sketch.bounds
        number_stops(sketch, [start_of(stop.elements[0]) for stop in stops])
        key(sketch, [(stop.thread.colour, _words(stop)) for stop in stops], (right - left, top - bottom))
        return sketch.svg(self.name, margin=4.0, ground=CLOTH, widest=PAGE_MM)


def _words(stop: Stop) -> str:
    return ", ".join(word for word in (stop.purpose.value, stop.thread.name) if word)
