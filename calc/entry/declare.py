"""How an input is declared: once, on a frozen keyword-only dataclass whose fields are made here.

From that one declaration come the form field, the reading, the words of every problem, and the test strategies.
"""

import dataclasses
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from calc.entry.problems import Caution, Problem
from calc.entry.units import typed_units

When = tuple[str, str | tuple[str, ...]]
Declared = type[Any]

# The most characters of a name, a code or a lot that a person gives.
NAME_LENGTH = 60

# A measure's name ends with the unit it is kept in, so that it can't be declared as a quantity of another kind.
_ENDINGS = {
    "mass": "_g",
    "length": "_mm",
    "volume": "_ml",
    "temperature": "_c",
    "percent": "_fraction",
    "density": "_g_per_ml",
    "saponification_value": "_value",
    "power": "_w",
    "concentration": "_mol_per_l",
}


@dataclass(frozen=True)
class Range:
    """The lowest and highest value [the field's unit inside], both included, and why; one sentence."""

    low: float
    high: float
    reason: str

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low <= self.high):
            raise ValueError(f"a range needs finite ends in order, not {self.low} and {self.high}")
        if not self.reason.strip():
            raise ValueError("a range needs a reason")


@dataclass(frozen=True)
class FieldInfo:
    """One declared field. `type` names the maker it came from; what only other types use stays empty."""

    type: str
    label: str
    help: str = ""
    name: str = ""
    optional: bool = False
    needed: str = ""
    none_without: str = ""
    when: tuple[str, tuple[str, ...]] | None = None
    kind: str = ""
    only: tuple[str, str] | None = None
    lone: bool = False
    if_item: tuple[str, str, tuple[str, ...]] | None = None
    offered: tuple[str, ...] = ()
    us: str | None = None
    plain: bool = False
    leads: tuple[str, ...] = ()
    refuse: Range | None = None
    warn: Range | None = None
    max_length: int = 0
    multiline: bool = False
    common: tuple[str, ...] = ()
    options: Mapping[str, str] = dataclasses.field(default_factory=dict)
    asked_back: tuple[str, ...] = ()
    of: Declared | None = None
    minimum: int = 0
    maximum: int = 0
    adds: bool = False
    add_label: str = ""
    past: bool = False


def measure(
    label: str,
    *,
    kind: str,
    offered: tuple[str, ...],
    us: str | None = None,
    plain: bool = False,
    leads: tuple[str, ...] = (),
    refuse: Range,
    warn: Range | None = None,
    help: str = "",
    optional: bool = False,
    none_without: str = "",
    when: When | None = None,
) -> Any:
    """A quantity with a unit: a float in the unit its name ends with. The first unit offered is the default.

    `plain`: takes one decimal number and nothing else, because a script reads the stored text without Python.
    `none_without`: the optional field without which a blank here is an amount of zero; with it, the amount has to be typed.
    `leads`: controls that take the unit chosen here, as long as no number of theirs would become another amount.
    """
    known = typed_units(kind)
    if not offered or not set(offered) <= set(known):
        raise TypeError(f"{label}: the units of {kind} are {known}, not {offered}")
    if us is not None and us not in offered:
        raise TypeError(f"{label}: {us!r} is not offered")
    return _declare(
        FieldInfo(
            "measure",
            label,
            help,
            optional=optional,
            none_without=none_without,
            when=_listed(when),
            kind=kind,
            offered=offered,
            us=us,
            plain=plain,
            leads=leads,
            refuse=refuse,
            warn=warn,
        )
    )


# The quantities that many forms ask for, each with the units that a shop says it in.
length = partial(measure, kind="length", offered=("mm", "cm", "in"), us="in")
mass = partial(measure, kind="mass", offered=("kg", "g", "lb", "oz"), us="lb")
small_mass = partial(measure, kind="mass", offered=("g", "kg", "oz", "lb"), us="oz")
share = partial(measure, kind="percent", offered=("%",))
temperature = partial(measure, kind="temperature", offered=("degC", "degF"), us="degF")
koh_value = partial(measure, kind="saponification_value", offered=("mg/g",))


def count(
    label: str,
    *,
    refuse: Range,
    warn: Range | None = None,
    help: str = "",
    optional: bool = False,
    when: When | None = None,
) -> Any:
    """A whole number."""
    return _declare(FieldInfo("count", label, help, optional=optional, when=_listed(when), refuse=refuse, warn=warn))


def day(label: str, *, help: str = "", optional: bool = False, when: When | None = None, past: bool = False) -> Any:
    """A day of the calendar: a `datetime.date`, typed and stored as "2026-11-25". `past`: of what was done, so never one to come."""
    return _declare(FieldInfo("day", label, help, optional=optional, when=_listed(when), past=past))


def time_of_day(label: str, *, help: str = "", optional: bool = False, when: When | None = None) -> Any:
    """A time on the clock: a `datetime.time`, typed and stored as "07:00"."""
    return _declare(FieldInfo("time", label, help, optional=optional, when=_listed(when)))


def text(
    label: str,
    *,
    max_length: int,
    help: str = "",
    optional: bool = False,
    needed: str = "",
    when: When | None = None,
    multiline: bool = False,
    common: tuple[str, ...] = (),
) -> Any:
    """Words, of at most so many characters, on one line unless multiline. `needed`: when an optional field has to be filled in after all.

    `common`: what is often said, to be tapped.
    """
    return _declare(
        FieldInfo(
            "text",
            label,
            help,
            optional=optional,
            needed=needed,
            when=_listed(when),
            max_length=max_length,
            multiline=multiline,
            common=common,
        )
    )


def choice(
    label: str,
    *,
    options: dict[str, str],
    help: str = "",
    optional: bool = False,
    when: When | None = None,
    asked_back: tuple[str, ...] = (),
) -> Any:
    """One of the options, given as {key: words shown}; the value is the key.

    `asked_back`: one option, to tick, which stays out of sight until a problem asks for it; the fields that it is about. Its
    tick holds for what stood in them.
    """
    if asked_back and (len(options) != 1 or not optional):
        raise TypeError(f"{label}: what is asked back is one option that may be left")
    return _declare(
        FieldInfo(
            "choice", label, help, optional=optional, when=_listed(when), options=dict(options), asked_back=asked_back
        )
    )


def item(
    label: str,
    *,
    kind: str,
    only: tuple[str, str] | None = None,
    lone: bool = False,
    if_item: tuple[str, str, tuple[str, ...]] | None = None,
    help: str = "",
    optional: bool = False,
    needed: str = "",
    when: When | None = None,
) -> Any:
    """The id of something of the workshop, or the key of a reference row; that it exists is for the task to check.

    `only`: the field and value that an item must have to be offered, as ("alkali", "naoh"). `needed`: as in `text`.
    lone: where there is one only, it is chosen. if_item: asked only where the item that a field before it names has one of
    these values, as ("formula", "alkali", ("koh", "both")).
    """
    return _declare(
        FieldInfo(
            "item", label, help, optional=optional, needed=needed, when=_listed(when), kind=kind, only=only, lone=lone,
            if_item=if_item,
        )
    )  # fmt: skip


def rows(label: str, *, of: Declared, minimum: int, maximum: int, help: str = "", add_label: str = "Add a row", adds: bool = False) -> Any:
    """Several of another declared dataclass: a tuple of them. adds: rows that another page hands over join those that stand."""
    if not 0 <= minimum <= maximum:
        raise TypeError(f"{label}: from {minimum} to {maximum} rows is no range")
    return _declare(FieldInfo("rows", label, help, of=of, minimum=minimum, maximum=maximum, add_label=add_label, adds=adds))


class Whole:
    """An input some of whose faults show only in several fields together; `calc.entry.fields.check` asks for them."""

    def whole(self) -> Iterator[Problem | Caution]:
        """Every such fault of one that was read, in the order of its fields."""
        raise NotImplementedError


def describe(cls: Declared) -> tuple[FieldInfo, ...]:
    """Every declared field of an input dataclass in order. TypeError where the declaration contradicts itself."""
    if cls not in _described:
        _described[cls] = _check(cls)
    return _described[cls]


_described: dict[Declared, tuple[FieldInfo, ...]] = {}


def _check(cls: Declared) -> tuple[FieldInfo, ...]:
    described: dict[str, FieldInfo] = {}
    for field in dataclasses.fields(cls):
        declared = field.metadata.get(FieldInfo)
        if declared is None:
            raise TypeError(f"{cls.__name__}.{field.name} is not declared by a maker of calc.entry.declare")
        ending = _ENDINGS.get(declared.kind, "") if declared.type == "measure" else ""
        if not field.name.endswith(ending):
            raise TypeError(f"{cls.__name__}.{field.name} is a {declared.kind}: its name must end in {ending}")
        if declared.none_without and declared.none_without not in {each.name for each in dataclasses.fields(cls)}:
            raise TypeError(f"{cls.__name__}.{field.name}: no field is named {declared.none_without}")
        if declared.when:
            decider, wanted = declared.when
            if decider not in described or not set(wanted) <= set(described[decider].options):
                raise TypeError(f"{cls.__name__}.{field.name}: no choice before it is named {decider} with {wanted}")
        described[field.name] = dataclasses.replace(declared, name=field.name)
    return tuple(described.values())


def _declare(info: FieldInfo) -> Any:
    metadata = {FieldInfo: info}
    if info.optional or info.when:
        return dataclasses.field(default=None, metadata=metadata)
    if info.type == "rows" and info.minimum == 0:
        return dataclasses.field(default=(), metadata=metadata)
    return dataclasses.field(metadata=metadata)


def _listed(when: When | None) -> tuple[str, tuple[str, ...]] | None:
    if when is None:
        return None
    return when[0], (when[1],) if isinstance(when[1], str) else when[1]
