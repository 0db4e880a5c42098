"""What was used and what is left, in money: first in, first out, over all lots of one material.

What was received first counts as used first, whichever lot a hand went into: what is left was received last. Source: IAS 2
Inventories, paragraph 27 (from memory, not seen); its paragraph 25 allows it for things that can stand in for each other.
Money is decimal, in the shop's own currency, and rounded where it is shown alone.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from operator import attrgetter

from calc.stock.ledger import COUNTED, Account, Move

NOTHING = Decimal(0)


@dataclass(frozen=True)
class Cost:
    """Money, and how much of the amount has no price: its lot's was not told, or more was used than came."""

    money: Decimal = NOTHING
    unpriced: Decimal = NOTHING

    def __add__(self, other: "Cost") -> "Cost":
        return Cost(self.money + other.money, self.unpriced + other.unpriced)

    def times(self, share: Decimal) -> "Cost":
        """So much of it."""
        return Cost(self.money * share, self.unpriced * share)


@dataclass(frozen=True)
class Layer:
    """So much at one price each; None where nobody told it."""

    amount: Decimal
    each: Decimal | None


@dataclass(frozen=True)
class Values:
    """What each move took, by its lot and id; what is left of each material."""

    taken: Mapping[tuple[str, str], Cost]
    left: Mapping[str, Cost]


def fifo(layers: Iterable[Layer], taken: Iterable[tuple[str, Decimal]]) -> tuple[dict[str, Cost], Cost]:
    """What each taking costs, in its order, out of layers in theirs; and what the rest of the layers is worth.

    Ten at 2.00 and ten at 3.00: fifteen taken are 20.00 and 15.00, and five are left at 3.00.

    >>> costs, left = fifo([Layer(Decimal(10), Decimal(2)), Layer(Decimal(10), Decimal(3))], [("a", Decimal(15))])
    >>> str(costs["a"].money), str(left.money)
    ('35', '15')
    """
    there = [[layer.amount, layer.each] for layer in layers]
    costs: dict[str, Cost] = {}
    at = 0
    for id_, wanted in taken:
        cost = costs.get(id_, Cost())
        while wanted > 0 and at < len(there):
            amount, each = there[at]
            assert amount is not None
            part = min(wanted, amount)
            cost += Cost(NOTHING, part) if each is None else Cost(part * each)
            there[at][0] = amount - part
            wanted -= part
            if there[at][0] == 0:
                at += 1
        costs[id_] = cost + Cost(NOTHING, max(wanted, NOTHING))
    left = Cost()
    for amount, each in there[at:]:
        assert amount is not None
        left += Cost(NOTHING, amount) if each is None else Cost(amount * each)
    return costs, left


def values(accounts: Mapping[str, Account]) -> Values:
    """Every lot's moves and rests in money. A lot of which nobody has told how much there was has no part in it."""
    materials: dict[str, list[Account]] = {}
    for account in accounts.values():
        if account.received is not None:
            materials.setdefault(account.lot.material, []).append(account)
    taken: dict[tuple[str, str], Cost] = {}
    left: dict[str, Cost] = {}
    for material, own in materials.items():
        own.sort(key=lambda account: (account.lot.since, account.lot.code))
        layers, takes = [], []
        for account in own:
            layers.append(Layer(account.received or NOTHING, account.lot.each))
            for entry in account.entries:
                amount = entry.off if entry.move.what == COUNTED else entry.move.amount
                if amount is not None and amount < 0:
                    # Found again, at what its own lot cost.
                    layers.append(Layer(-amount, account.lot.each))
                elif amount and entry.move.what != "received":
                    takes.append((entry.move, amount))
        takes.sort(key=lambda take: attrgetter("at", "lot", "id")(take[0]))
        costs, left[material] = fifo(layers, [(_key(move), amount) for move, amount in takes])
        taken |= {(move.lot, move.id): costs[_key(move)] for move, _ in takes}
    return Values(taken, left)


def _key(move: Move) -> str:
    return f"{move.lot}\n{move.id}"
