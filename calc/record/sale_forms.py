"""The forms of the way from the rack to the customer: releasing a block, packing its bars, sending them, and asking where they are."""

from dataclasses import dataclass
from datetime import date

from calc.entry.declare import NAME_LENGTH, Range, choice, count, day, item, rows, text
from calc.entry.language import later

TO_RELEASE, TO_PACK, PACKED_LOT = "to_release", "to_pack", "packed_lot"
BARS = Range(1, 100_000, later("a batch has at least one bar, and at most some ten thousand"))
REASON_LENGTH = 1000


@dataclass(frozen=True, kw_only=True)
class ReleaseQuestion:
    """What is to become of a block's bars. Without a block the answer lists those that wait."""

    block: str | None = item(later("Block"), kind=TO_RELEASE, optional=True)
    what: str = choice(
        later("Decision"),
        options={
            "release": later("Release it"),
            "decide": later("Release all the same, with a reason"),
            "rework": later("Send to rework"),
            "reject": later("Reject"),
            "sample": later("Keep a sample"),
        },
    )
    look: str | None = choice(
        later("Look and smell"), options={"yes": later("As it should be"), "no": later("Not as it should be")}, optional=True,
        when=("what", ("release", "decide", "rework", "reject")),
    )  # fmt: skip
    bars: int | None = count(
        later("Good bars"), refuse=BARS, optional=True, when=("what", ("release", "decide")),
        help=later("Leave it empty for as many as were counted."),
    )  # fmt: skip
    reason: str | None = text(
        later("Reason"), max_length=REASON_LENGTH, optional=True, needed=later("unless every check passed"),
        common=(later("Tested again: it holds"), later("Too soft"), later("Look or smell"), later("Typed by mistake")),
    )  # fmt: skip
    sample_bars: int | None = count(
        later("Bars kept"), refuse=BARS, optional=True, when=("what", "sample"), help=later("Leave it empty for what Workshop says.")
    )
    place: str | None = text(later("Where they lie"), max_length=NAME_LENGTH, optional=True, when=("what", "sample"))
    until: date | None = day(later("Kept until"), optional=True, when=("what", "sample"))


@dataclass(frozen=True, kw_only=True)
class PackPart:
    """Bars of one block that go into a packed lot."""

    block: str = item(later("Block"), kind=TO_PACK)
    bars: int = count(later("Bars"), refuse=BARS)


@dataclass(frozen=True, kw_only=True)
class PackQuestion:
    """A packed lot: what it is called and which bars are in it."""

    parts: tuple[PackPart, ...] = rows(later("Bars packed"), of=PackPart, minimum=1, maximum=20, add_label=later("Add bars of another block"))
    code: str | None = text(
        later("Code of the packed lot"), max_length=NAME_LENGTH, optional=True, help=later("Leave it empty for the next one of that batch.")
    )
    reason: str | None = text(later("Reason, to take one back"), max_length=REASON_LENGTH, optional=True)


@dataclass(frozen=True, kw_only=True)
class SendQuestion:
    """Bars that leave for an outlet, or come back from it."""

    packed: str = item(later("Packed lot"), kind=PACKED_LOT, lone=True)
    what: str = choice(later("What happened"), options={"sent": later("Bars went out"), "back": later("Bars came back")})
    outlet: str = item(later("Outlet"), kind="outlet", lone=True)
    bars: int = count(later("Bars"), refuse=BARS)
    on: date | None = day(later("Day"), optional=True, help=later("Leave it empty for today."))
    reason: str | None = text(
        later("Reason"), max_length=REASON_LENGTH, optional=True, help=later("Why they came back, or why an entry is taken back.")
    )


@dataclass(frozen=True, kw_only=True)
class TraceQuestion:
    """A code to trace."""

    code: str | None = text(later("Any code"), max_length=200, optional=True)
    kind: str | None = choice(
        later("What it is"), optional=True,
        options={"lot": later("Lot"), "batch": later("Batch"), "packed": later("Packed lot"), "outlet": later("Outlet")},
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class AfterSale:
    """What came of bars that were sold."""

    about: str = text(later("Lot, batch, packed lot or outlet"), max_length=200)
    what: str = choice(
        later("What it is"),
        options={"complaint": later("A complaint"), "recall": later("A recall begins"), "done": later("A recall has ended")},
    )
    said: str = text(later("What was said or done"), max_length=5000, multiline=True)
    serious: str | None = choice(
        later("Somebody was hurt"), options={"yes": later("Yes"), "no": later("No")}, optional=True, when=("what", "complaint")
    )
    on: date | None = day(later("Day"), optional=True, help=later("Leave it empty for today."))
