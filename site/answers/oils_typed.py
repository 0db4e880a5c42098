"""The oils of the formula form, as text and as rows: whichever was typed last leads, the other follows."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from calc.entry.language import tr
from calc.entry.problems import Problem
from calc.entry.shown import percent
from calc.formula.as_text import (
    LONGEST,
    USUAL_OILS,
    OilNames,
    TypedOil,
    name_by_oils,
    problems_of,
    read_oils,
    row_values,
    takes_another,
    total_percent,
    with_another,
    with_name,
    with_rest,
    write_oils,
)
from calc.tables.rows import Oil

FIELD = "oils_text"
# A name of three letters is like many: more than these are no help.
MOST_MEANT = 6
# More keys would take more than two lines of a phone.
MOST_NEXT = 6


@dataclass(frozen=True)
class Meant:
    """An entry that is asked back, and by oil the text in which that oil stands in its place."""

    name: str
    instead: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class OilsTyped:
    """What stands in the form, read: its rows among all values, and what to say and offer about the text."""

    leads: bool
    text: str
    entries: tuple[TypedOil, ...]
    values: Mapping[str, str]
    puts: Mapping[str, str]
    problems: tuple[Problem, ...]
    meant: tuple[Meant, ...]
    rests: tuple[tuple[str, str], ...]  # an oil's name, and the text in which it takes the rest
    read_as: tuple[tuple[str, str], ...]  # a name as typed, and the oil's whole name
    next_ones: tuple[tuple[str, str], ...] = ()  # an oil that may come next, and the text with its name
    called: str = ""  # by its oils, while nobody has named it

    @property
    def total(self) -> str:
        """The shares that can be read, together, in per cent."""
        return percent(float(total_percent(self.entries) / 100), 4)

    @property
    def missing(self) -> str:
        """What is missing to 100 % or too much, without its sign; "" where nothing is."""
        missing = 100 - total_percent(self.entries)
        return "" if missing == 0 else percent(float(abs(missing) / 100), 4)

    @property
    def shared(self) -> bool:
        """Whether any share can be read yet."""
        return total_percent(self.entries) > 0

    @property
    def too_much(self) -> bool:
        """Whether the shares are more than 100 %."""
        return total_percent(self.entries) > 100

    def told(self, faults: Iterable[Problem]) -> tuple[Problem, ...]:
        """The form's problems: those of the rows at the text where it leads, and its own before them."""
        found = list(self.problems)
        for fault in faults:
            of_rows = fault.field == "oils" or fault.field.startswith("oils.")
            if of_rows and (self.leads or fault.code == "too-few-rows"):
                if not self.problems:
                    found.append(replace(fault, field=FIELD))
            else:
                found.append(fault)
        return tuple(found)


def oils_typed(
    values: Mapping[str, str], oils: Mapping[str, Oil], own: Iterable[str] = (), taken: Collection[str] = ()
) -> OilsTyped:
    """The form's values with the oils of its text in their rows; without a text, the rows as they stand and their text.

    own: the oils that are offered before the usual ones. taken: what other formulas are called.
    """
    names = OilNames(oils)
    leads = FIELD in values
    text = values[FIELD] if leads else write_oils(values, names)
    if len(text) > LONGEST:
        message = tr("The oils have {n} characters.", n=len(text))
        problem = Problem(FIELD, "too-long", message, tr("Type at most {most} characters.", most=LONGEST))
        return OilsTyped(leads, text, (), _without_rows(values), {}, (problem,), (), (), ())
    entries = read_oils(text, names)
    rows = row_values(entries)
    return OilsTyped(
        leads=leads,
        text=text,
        entries=entries,
        values={**_without_rows(values), **rows} if leads else values,
        puts=rows if leads else {FIELD: text},
        problems=tuple(problems_of(entries, names, FIELD)) if leads else (),
        meant=tuple(_meant(text, entry, names) for entry in entries if leads and entry.name and entry.key is None),
        rests=tuple((tr(oils[str(entry.key)].name), taken) for entry, taken in with_rest(text, entries)),
        read_as=tuple(
            (entry.name, tr(oils[entry.key].name))
            for entry in entries
            if entry.key is not None and entry.name.casefold() != names.written(entry.key).strip('"').casefold()
        ),
        next_ones=tuple(_next_ones(text, entries, names, own)) if takes_another(entries) else (),
        called=name_by_oils(entries, names, taken),
    )


def _next_ones(text: str, entries: Iterable[TypedOil], names: OilNames, own: Iterable[str]) -> Iterator[tuple[str, str]]:
    entries = tuple(entries)
    # One whose share is still to be typed keeps its place, so that nothing moves under the finger.
    used = {entry.key for entry in entries if entry.share}
    waiting = {entry.key for entry in entries} - used
    left = [key for key in dict.fromkeys((*own, *USUAL_OILS)) if key in names.oils and key not in used]
    for key in left[:MOST_NEXT]:
        name = names.written(key)
        yield name.strip('"'), text.rstrip() + " " if key in waiting else with_another(text, name)


def _meant(text: str, entry: TypedOil, names: OilNames) -> Meant:
    keys = entry.candidates[:MOST_MEANT] or names.nearest(entry.name)
    return Meant(
        entry.name, tuple((tr(names.oils[key].name), with_name(text, entry, names.written(key))) for key in keys)
    )


def _without_rows(values: Mapping[str, str]) -> dict[str, str]:
    return {name: typed for name, typed in values.items() if name != FIELD and not name.startswith("oils.")}
