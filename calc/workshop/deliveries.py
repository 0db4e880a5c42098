"""What every lot may say of its delivery, so that stock and cost can be reckoned; whoever keeps no stock leaves it all empty."""

from functools import partial

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

received_on = partial(day, later("Received on"), optional=True)
_RECEIVED = {
    "refuse": LOT_MASS, "optional": True, "help": later("What the delivery weighed. What you weigh of it then comes off by itself."),
}  # fmt: skip
received = partial(mass, later("How much came"), **_RECEIVED)
small_received = partial(small_mass, later("How much came"), **_RECEIVED)
price = partial(
    measure, later("What it cost"), kind="ratio", offered=("",), refuse=MONEY, optional=True,
    help=later("All of the delivery, with freight if you count it. For the cost of a bar."),
)  # fmt: skip
expires_on = partial(day, later("Good until"), optional=True)
opened_on = partial(day, later("Opened on"), optional=True)
status = partial(choice, later("May it be used?"), options=STATUSES, optional=True)
left = partial(
    mass, later("Left, if you counted it"), refuse=LOT_MASS, optional=True,
    help=later("Counts for the day you save it; what you weigh later comes off by itself."),
)  # fmt: skip
