"""The closure: a tab caught in the top edge at the back, its snap on a target on the front.

drop = reach - b - t, with reach = length - inset: from the root line the tab climbs b to the top edge,
crosses the wall t, and hangs down the front.
"""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.bag.bag import Bag
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.ranges import RANGES, ranged
from stitchcraft.units import Length, both_text, length_between, mm_text


@dataclass(frozen=True, slots=True)
class Closure:
    """A solved closure, all mm.

    Attributes:
        length_mm: Tab, root line to tip.
        inset_mm: Tip to snap centre.
        drop_mm: Top edge to the snap's target, down the front panel.
        reach_mm: Root line to snap centre.
        miss_mm: How far off its target the tab closes; 0 unless all three lengths were given.
        given: Which of ``length``, ``inset`` and ``drop`` the maker chose.
        inset_key: The spec's key of the inset.
    """

    length_mm: float
    inset_mm: float
    drop_mm: float
    reach_mm: float
    miss_mm: float
    given: tuple[str, ...]
    inset_key: str = "tab.snap.inset"

    @property
    def tip_mm(self) -> float:
        """Top edge to the tab's point, down the front panel: it hangs beyond the fastener by the inset."""
        return self.drop_mm + self.inset_mm

    def findings(self) -> tuple[Finding, ...]:
        """An error if the tab misses its target by more than the limit."""
        limit = BAG["closure_miss"].value
        if self.miss_mm <= limit:
            return ()
        return (
            Finding(
                Level.ERROR,
                "closure-miss",
                "tab-back",
                f"The tab closes {both_text(self.miss_mm)} off its target on the front.",
                f"Leave out one of tab.length, {self.inset_key} and closure.drop: it follows from the others.",
                round(self.miss_mm, 3),
                limit,
            ),
        )


def solve_closure(
    bag: Bag,
    *,
    length: Length | None = None,
    inset: Length | None = None,
    drop: Length | None = None,
    inset_key: str = "tab.snap.inset",
    usual_inset: float = PARTS["snap_inset"].value,
) -> Closure:
    """Work out the closure from what is given.

    Any two of the three lengths give the third. With one or none, the inset takes its default first, then the
    drop. With all three, the miss says by how much they disagree.

    Args:
        bag: The bag; it gives the root line's depth b and the wall t.
        length: Tab, root line to tip; mm or a string with a unit.
        inset: Tip to snap centre.
        drop: Top edge to the snap's target.
        inset_key: The spec's key of the inset, which errors name.
        usual_inset: The inset where nothing gives it, mm; less on a short tab.

    Raises:
        ParameterError: If a length is out of range, or the lengths leave no room for the third.
    """
    over = bag.root_depth_mm + bag.wall_mm
    names = ("length", "inset", "drop")
    given = tuple(name for name, value in zip(names, (length, inset, drop), strict=True) if value is not None)
    tab = None if length is None else ranged(length, "tab.length")
    tip = None if inset is None else ranged(inset, inset_key)
    least_inset, least_drop = RANGES["tab.snap.inset"][0], RANGES["closure.drop"][0]
    down = None if drop is None else length_between(drop, name="closure.drop", low=least_drop, high=bag.height_mm)
    if tip is None and (tab is None or down is None):
        tip = usual_inset if tab is None else min(usual_inset, round(tab / 3, 1))
    if down is None and tab is None:
        down = bag.usual_drop_mm
    if tab is None and tip is not None and down is not None:
        tab = down + over + tip
    elif tip is None and tab is not None and down is not None:
        tip = tab - over - down
        if tip < least_inset:
            raise ParameterError(
                "tab.length", tab, f"at least {mm_text(down + over + least_inset)} to reach closure.drop"
            )
    elif down is None and tab is not None and tip is not None:
        down = tab - tip - over
        if down < least_drop:
            raise ParameterError(
                "tab.length",
                tab,
                f"at least {mm_text(over + tip + least_drop)} to come over the top edge and down to a snap",
            )
        if down > bag.height_mm:
            raise ParameterError("tab.length", tab, f"at most {mm_text(bag.height_mm + over + tip)} on this bag")
    if tab is None or tip is None or down is None:  # every case above has filled them
        raise ParameterError("closure", given, "lengths that can be solved")
    reach = tab - tip
    miss = abs(down - (reach - over)) if len(given) == 3 else 0.0
    return Closure(tab, tip, down, reach, miss, given, inset_key)
