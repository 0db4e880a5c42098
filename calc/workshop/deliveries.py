"""What every lot may say of its delivery, so that stock and cost can be reckoned; whoever keeps no stock leaves it all empty."""

from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from calc.entry.declare import Range, choice, day, mass, measure, small_mass
from calc.entry.language import later

LOT_MASS = Range(0.0, 5_000_000.0, later("a lot over 5 metric tons is too big for a small workshop"))
MONEY = Range(0.0, 10_000_000.0, later("a price here is at most ten million"))

# What a lot is allowed for; nothing said: accepted.
STATUSES = {
    "accepted": later("Accepted"),
    "quarantine": later("Quarantine: not to be used yet"),
    "rejected": later("Rejected: not to be used"),
}

_RECEIVED: dict[str, Any] = {
    "refuse": LOT_MASS, "optional": True, "help": later("What the delivery weighed. What you weigh of it then comes off by itself."),
}  # fmt: skip
_LEFT: dict[str, Any] = {
    "refuse": LOT_MASS, "optional": True, "help": later("Counts for the day you save it; what you weigh later comes off by itself."),
}  # fmt: skip
price = partial(
    measure, later("What it cost"), kind="ratio", offered=("",), refuse=MONEY, optional=True,
    help=later("All of the delivery, with freight if you count it. For the cost of a bar."),
)  # fmt: skip
status = partial(choice, later("May it be used?"), options=STATUSES, optional=True)


# The bases of a lot stand in the order of its form from last to first: a dataclass takes its last base's fields first.
@dataclass(frozen=True, kw_only=True)
class Left:
    """What a count found of it."""

    left_g: float | None = mass(later("Left, if you counted it"), **_LEFT)


@dataclass(frozen=True, kw_only=True)
class SmallLeft:
    """The same, in grams or ounces."""

    left_g: float | None = small_mass(later("Left, if you counted it"), **_LEFT)


@dataclass(frozen=True, kw_only=True)
class Came:
    """When it came."""

    received_on: date | None = day(later("Received on"), optional=True, past=True)


@dataclass(frozen=True, kw_only=True)
class Delivery(Came):
    """How a lot that is weighed came."""

    received_g: float | None = mass(later("How much came"), **_RECEIVED)
    price: float | None = price()
    expires_on: date | None = day(later("Good until"), optional=True)
    opened_on: date | None = day(later("Opened on"), optional=True, past=True)
    status: str | None = status()


@dataclass(frozen=True, kw_only=True)
class SmallDelivery(Delivery):
    """How a lot came that is weighed in grams or ounces."""

    received_g: float | None = small_mass(later("How much came"), **_RECEIVED)


# What a form may fold away: whoever keeps no stock leaves it all empty.
FOLDED = ("left_g", "received_on", "received_g", "received_n", "price", "expires_on", "opened_on", "status")
