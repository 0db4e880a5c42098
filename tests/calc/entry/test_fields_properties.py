"""What must hold for every form and every text, whoever types it."""

import dataclasses
import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import LINES, WRITTEN_UNITS, Form, forms, ways_to_write

from calc.entry.declare import describe
from calc.entry.fields import read
from calc.entry.problems import InputProblems
from calc.entry.quantity_text import Unreadable, read_quantity
from calc.entry.units import convert, typed_units
from entry.test_fields import Block

MASS = typed_units("mass")
BROKEN = {
    "measure": ["", "abc", "1.2.3", "1 500", "1e9", "-5", "9999999", "5 furlongs", "٣", "0/0", "\x00"],
    "count": ["", "1.5", "-1", "1,000", "12 bars"],
    "text": ["", "\x07", "x" * 5000],
    "choice": ["", "no such option"],
    "item": ["", "no such/id"],
}
INFOS = {info.name: info for info in describe(Block)}
numbers = st.builds(Fraction, st.integers(0, 10**9), st.sampled_from([1, 8, 10, 100, 1000, 10**6]))


def _control_values(value: Any, prefix: str, indices: dict[str, list[int]]) -> dict[str, Any]:
    """The values of a read dataclass by their controls' names, to be compared with what the form meant."""
    flat: dict[str, Any] = {}
    for field in dataclasses.fields(value):
        name, inner = prefix + field.name, getattr(value, field.name)
        flat[name] = len(inner) if isinstance(inner, tuple) else inner
        for index, row in zip(indices.get(name, []), inner if isinstance(inner, tuple) else (), strict=False):
            flat.update(_control_values(row, f"{name}.{index}.", indices))
    return flat


@given(forms(Block))
def test_every_form_is_read_as_it_was_meant(form: Form) -> None:
    indices = sorted({int(key.split(".")[1]) for key in form.values if key.startswith("oils.")})
    assert _control_values(read(Block, form.values).value, "", {"oils": indices}) == form.meant


@given(numbers, st.sampled_from(MASS), st.data())
def test_no_way_of_writing_changes_a_magnitude(number: Fraction, unit: str, data: st.DataObject) -> None:
    for text in ways_to_write(number, unit):
        assert read_quantity(text, MASS, beside=unit).number == number
        read_back = read_quantity(f"{text} {WRITTEN_UNITS.get(unit, unit)}", MASS)
        assert (read_back.number, read_back.unit) == (number, unit)


@given(st.integers(0, 10**6), st.integers(0, 15999).map(lambda n: Fraction(n, 1000)))
def test_pounds_and_ounces_weigh_as_their_parts_together(pounds: int, ounces: Fraction) -> None:
    read_back = read_quantity(f"{pounds} lb {float(ounces)} oz", MASS)
    assert read_back.number * LINES["oz"][0] == pounds * LINES["lb"][0] + ounces * LINES["oz"][0]


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(".,"))
def test_a_mark_before_three_digits_is_refused_naming_both_readings(whole: int, decimals: int, mark: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read_quantity(f"{whole}{mark}{decimals:03d}", MASS)
    assert refused.value.code == "ambiguous-number"
    named = {Fraction(reading) for reading in re.findall(r"[0-9.]*[0-9]", refused.value.why.split("”")[1])}
    assert named == {whole + Fraction(decimals, 1000), Fraction(whole * 1000 + decimals)}


@given(st.integers(1000, 10**12), st.sampled_from([",", ".", " ", "'", "’", "\u00a0", "\u202f"]), st.booleans())
def test_no_habit_of_parting_thousands_is_read_as_another_size(number: int, mark: str, with_decimals: bool) -> None:
    text = f"{number:,}".replace(",", mark) + ("." if mark == "," else ",") * with_decimals + "5" * with_decimals
    try:
        read_back = read_quantity(text, MASS).number
    except Unreadable:
        return
    # By points or commas, with more than one mark: its own size, and no other.
    assert mark in ".," and len(re.findall("[.,]", text)) > 1
    assert read_back == number + Fraction(5, 10) * with_decimals


typed_by_anyone = st.one_of(
    st.text(max_size=45),
    st.text("0123456789.,/ -−+'eEkgozlb½¼°٣５\u00a0\u200b", max_size=20),
    st.from_regex(r"[0-9]{1,4}([.,' ][0-9]{1,4}){0,3} ?(kg|g|lb|oz|lb [0-9]{1,2} oz|[0-9]/[0-9])?", fullmatch=True),
)


PARTED = re.compile(r"(?<![0-9.,])[0-9]{1,3}([.,])[0-9]{3}(?:(?:\1[0-9]{3})+|(?=(?!\1)[.,]))(?![0-9])")


@given(typed_by_anyone)
def test_any_text_is_refused_in_words_or_read_digit_for_digit(text: str) -> None:
    try:
        read_back = read_quantity(text, MASS)
    except Unreadable as refused:
        assert refused.why.isprintable() and refused.remedy.isprintable()
        assert refused.why.strip() and refused.remedy.strip()
        return
    # Full-width signs lie 0xFEE0 above the plain ones (Unicode block Halfwidth and Fullwidth Forms).
    text = "".join(chr(ord(char) - 0xFEE0) if "\uff01" <= char <= "\uff5e" else char for char in text)
    # Thousands parted by one mark twice over, or by one mark before another: 1.000.000 and 1.234,5 have one reading.
    text = PARTED.sub(lambda found: found[0].replace(found[1], ""), text)
    # One decimal number: its digits, leading and trailing zeros apart, are those that were typed.
    if plain := re.fullmatch(r"\s*[-−]?\s*([0-9]*)(?:[.,]([0-9]*))?[^0-9/½¼]*", text):
        whole, decimals = plain[1], plain[2] or ""
        assert abs(read_back.number) == Fraction(int(whole + decimals), 10 ** len(decimals))
    else:
        # Otherwise a fraction or two units: never larger than all its whole numbers together in grams.
        parts = [int(part) for part in re.findall("[0-9]+", text)]
        grams = abs(read_back.number) * LINES[read_back.unit or "g"][0]
        assert grams <= (sum(parts) + 2) * 1000


@given(st.dictionaries(st.sampled_from([*INFOS, "oils.0.oil", "oils.7.share_fraction", "oils.__proto__.x"]), st.text()))
def test_no_form_ever_breaks_the_reader(values: dict[str, str]) -> None:
    with pytest.raises(InputProblems) as refused:
        read(Block, {"bars": "", **values, "name": ""})
    assert all(problem.message.isprintable() for problem in refused.value.problems)


@given(st.integers(1, 10**8).map(lambda n: Fraction(n, 1000)), st.sampled_from(MASS), st.sampled_from(MASS))
def test_a_mass_weighs_the_same_in_every_unit(number: Fraction, unit: str, other: str) -> None:
    grams = convert(number, unit, "g")
    assert convert(convert(number, unit, other), other, "g") == pytest.approx(grams, rel=1e-9)
    assert grams == float(number * LINES[unit][0])


@given(st.sampled_from(sorted(set(LINES) - {""})), st.floats(-1e9, 1e9))
def test_every_conversion_goes_there_and_back(unit: str, number: float) -> None:
    for kind in ("mass", "length", "volume", "temperature", "percent", "density"):
        if unit in typed_units(kind):
            for other in typed_units(kind):
                back = convert(convert(number, unit, other), other, unit)
                assert back == pytest.approx(number, rel=1e-12, abs=1e-11)


@given(forms(Block), st.data())
def test_as_many_problems_are_reported_as_fields_are_broken(form: Form, data: st.DataObject) -> None:
    breakable = [key for key in form.values if not key.endswith((".unit", ".note"))]
    breakable = [key for key in breakable if key not in ("spare_g", "notes", "alkali", "room_c")]
    broken = data.draw(st.sets(st.sampled_from(breakable), min_size=1))
    rows_left = {key: typed for key, typed in form.values.items() if key.startswith("oils.")}
    values = dict(form.values)
    for key in broken:
        kind = {"oil": "item", "share_fraction": "measure"}.get(key.split(".")[-1]) or INFOS[key].type
        # A row emptied altogether is dropped and not a fault, so rows are broken by wrong words only.
        faults = [fault for fault in BROKEN[kind] if fault.strip() or key not in rows_left]
        values[key] = data.draw(st.sampled_from(faults))
    with pytest.raises(InputProblems) as refused:
        read(Block, values)
    assert sorted(problem.field for problem in refused.value.problems) == sorted(broken)


@given(st.data(), st.sampled_from(["length_mm", "spare_g", "room_c"]))
def test_every_limit_named_is_accepted_when_typed(data: st.DataObject, name: str) -> None:
    info = INFOS[name]
    unit = data.draw(st.sampled_from(info.offered))
    with pytest.raises(InputProblems) as refused:
        read(Block, {name: "999999999", f"{name}.unit": unit})
    remedy = next(problem.remedy for problem in refused.value.problems if problem.field == name)
    ends = re.search(r"from (.*) to (.*) and check", remedy)
    assert ends is not None
    for end in ends.groups():
        with pytest.raises(InputProblems) as again:
            read(Block, {name: end})
        assert name not in [problem.field for problem in again.value.problems]


@given(st.text(min_size=1, max_size=30))
def test_tidied_words_are_tidied_for_good(words: str) -> None:
    form = {"oil": "olive", "share_fraction": "5", "note": words}
    row = INFOS["oils"].of
    assert row is not None
    try:
        once = read(row, form).value.note
    except InputProblems as refused:
        assert [problem.field for problem in refused.problems] == ["note"]
        return
    assume(once is not None)
    assert read(row, form | {"note": once}).value.note == once
