"""What the amounts of a kit cost, where the maker says what a unit of each costs her."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from stitchcraft.errors import ParameterError
from stitchcraft.ranges import RANGES
from stitchcraft.units import number_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What a unit costs, in one currency; None where the maker does not say, and it is left out of the sum.

    Attributes:
        currency: What to write beside a sum, such as ``"EUR"``.
        thread: A metre of needle thread.
        bobbin: A metre of bobbin thread.
        cloth: A square metre of cloth.
        stabilizer: A square metre of stabilizer.
        fastener: A fastener: of the tab, or a shaping snap.
        hour: An hour at the machine, its own time and that of the hands.

    Raises:
        ParameterError: If a price is no number from 0 to a million.
    """

    currency: str = ""
    thread: float | None = None
    bobbin: float | None = None
    cloth: float | None = None
    stabilizer: float | None = None
    fastener: float | None = None
    hour: float | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.currency, str) or len(self.currency) > 10 or not self.currency.isprintable():
            raise ParameterError("prices.currency", self.currency, "a text of at most 10 characters")
        low, high = RANGES["prices"]
        for key in PRICED:
            if getattr(self, key) is not None:
                number_between(getattr(self, key), name=f"prices.{key}", low=low, high=high)

    @property
    def given(self) -> bool:
        """Whether there is a price at all."""
        return any(getattr(self, key) is not None for key in PRICED)


PRICED = tuple(part.name for part in fields(Prices) if part.name != "currency")
"""What can have a price."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """What a kit takes.

    Attributes:
        thread: Needle thread, m.
        bobbin: Bobbin thread, m.
        cloth: Cloth as cut, m2.
        stabilizer: Stabilizer as cut, m2.
        fastener: How many fasteners.
        hour: Hours at the machine.
    """

    thread: float
    bobbin: float
    cloth: float
    stabilizer: float
    fastener: float
    hour: float


_WHAT = {
    "thread": ("needle thread", "m"), "bobbin": ("bobbin thread", "m"), "cloth": ("cloth as cut", "m²"),
    "stabilizer": ("stabilizer as cut", "m²"), "fastener": ("fasteners", ""), "hour": ("time at the machine", "h"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CostLine:
    """What one kind of thing costs.

    Attributes:
        key: Its key among the prices.
        what: Its name.
        amount: How much of it.
        unit: Of the amount; empty for a count.
        price: Of one unit.
        cost: Amount times price, to a hundredth.
    """

    key: str
    what: str
    amount: float
    unit: str
    price: float
    cost: float


@dataclass(frozen=True, slots=True)
class Costs:
    """What a kit costs.

    Attributes:
        currency: Of all sums.
        lines: One for each price that is given.
    """

    currency: str
    lines: tuple[CostLine, ...]

    @property
    def total(self) -> float:
        """The sum of the lines as they are shown, to a hundredth."""
        return round(sum(line.cost for line in self.lines), 2)

    def to_dict(self) -> dict[str, Any]:
        """The costs as plain values for JSON."""
        return {
            "currency": self.currency,
            "lines": [
                {
                    "key": line.key, "amount": round(line.amount, 3), "unit": line.unit, "price": line.price,
                    "cost": line.cost,
                }
                for line in self.lines
            ],
            "total": self.total,
        }  # fmt: skip


def costs_of(amounts: Amounts, prices: Prices) -> Costs:
    """Price what a kit takes.

    Args:
        amounts: How much of each.
        prices: What is given of them.

    Example:
        >>> costs_of(Amounts(thread=40, bobbin=20, cloth=0.5, stabilizer=0.2, fastener=1, hour=2),
        ...          Prices(thread=0.01, cloth=12)).total
        6.4
    """
    lines = []
    for key, (what, unit) in _WHAT.items():
        price, amount = getattr(prices, key), getattr(amounts, key)
        if price is not None:
            lines.append(CostLine(key, what, float(amount), unit, float(price), round(float(amount * price), 2)))
    return Costs(prices.currency, tuple(lines))
