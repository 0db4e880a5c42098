"""What to order for the blocks that are planned: what they take, less what is left of lots that may be used and in tanks."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from calc.entry.counting import summed, total
from calc.stock.ledger import Account, StockLot
from calc.stock.value import NOTHING

HYDROXIDE = "hydroxide:"


@dataclass(frozen=True)
class Need:
    """What some blocks take of one material [g]; of caustic the pure hydroxide, whatever it is bought as."""

    material: str
    name: str
    grams: Decimal


@dataclass(frozen=True)
class Order:
    """One material for all planned blocks [g], caustic as it is bought.

    have: what is known to be left; lots: how many of them there are, unknown: of how many nobody told it, over: how many have
    given more than there was. counted: the day of the oldest count among them, "" where one was never counted or nobody recorded
    the day. expired: what is left of lots past their date [g], which is no part of `have`. by_count: whether each was counted.
    """

    material: str
    name: str
    need: Decimal
    have: Decimal
    in_tanks: Decimal
    lots: int
    unknown: int
    over: int
    counted: str
    expired: Decimal = NOTHING
    by_count: bool = False

    @property
    def short(self) -> Decimal:
        """How much is missing; 0 where nothing is."""
        return max(self.need - self.have - self.in_tanks, NOTHING)


def orders(needs: Iterable[Need], accounts: Iterable[Account], in_tanks: Mapping[str, Decimal], today: date) -> list[Order]:
    """What is missing most first, by share of what is needed; then what will last.

    in_tanks: by material as a need names it [g].
    """
    wanted: dict[str, Need] = {}
    for need in needs:
        before = wanted.get(need.material)
        wanted[need.material] = need if before is None else Need(need.material, need.name, before.grams + need.grams)
    accounts = list(accounts)
    found = []
    for need in wanted.values():
        if need.grams <= 0:
            continue
        own = [account for account in accounts if _material(account.lot) == need.material]
        usable = [account for account in own if account.lot.usable and not account.lot.expired(today)]
        past = [account for account in own if account.lot.usable and account.lot.expired(today)]
        known = [account for account in usable if account.left is not None]
        # Caustic is ordered as it came last, so much of it as holds what is missing.
        strength = _strength(own) if need.material.startswith(HYDROXIDE) else Decimal(1)
        # Where more was taken off a lot than it had, that came off another one, whose account has it still.
        have = max(_left(known, need), NOTHING)
        days = [account.counted for account in known]
        found.append(
            Order(
                need.material, need.name, need.grams / strength, have / strength, in_tanks.get(need.material, NOTHING) / strength, len(usable),
                len(usable) - len(known), total(1 for account in known if account.left is not None and account.left < 0),
                "" if not days or "" in days else min(days), max(_left(past, need), NOTHING) / strength,
                bool(known) and all(account.by_count for account in known),
            )
        )  # fmt: skip
    return sorted(found, key=lambda order: (-order.short / order.need, order.name))


def _material(lot: StockLot) -> str:
    kind, _, rest = lot.material.partition(":")
    if kind == "additive":
        return f"{kind}:{rest.partition(':')[0]}"
    return HYDROXIDE + rest.partition(":")[0] if kind == "alkali" else lot.material


def _left(accounts: Iterable[Account], need: Need) -> Decimal:
    return summed(((account.left or NOTHING) * _share(account, need) for account in accounts), NOTHING)


def _share(account: Account, need: Need) -> Decimal:
    return Decimal(repr(account.lot.strength)) if need.material.startswith(HYDROXIDE) else Decimal(1)


def _strength(own: Sequence[Account]) -> Decimal:
    solid = [account.lot for account in own if account.lot.material.endswith(":solid")] or [account.lot for account in own]
    newest = max(solid, key=lambda lot: (lot.since, lot.code), default=None)
    return Decimal(1) if newest is None or newest.strength <= 0.0 else Decimal(repr(newest.strength))
