"""Every expected value here is the plain arithmetic of the text itself; nothing comes from the reader."""

from decimal import Decimal
from fractions import Fraction

import pytest
from babel.numbers import format_decimal

from calc.entry.quantity_text import Unreadable, how_to_type, quoted, read_quantity
from calc.entry.units import typed_units

MASS = typed_units("mass")
ALL_UNITS = [unit for kind in ("mass", "length", "volume", "temperature", "percent") for unit in typed_units(kind)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # Comma and point are both the decimal sign.
        ("1,5", "1.5"),
        ("1.5", "1.5"),
        ("0,5", "0.5"),
        ("12,3456", "12.3456"),
        # Two marks have one reading to everybody, whichever of them is the decimal sign.
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("1,500.25", "1500.25"),
        ("1.500,25", "1500.25"),
        ("1.234,567", "1234.567"),
        ("12.345.678,9", "12345678.9"),
        ("12,345,678.9", "12345678.9"),
        ("1,234.", "1234"),
        ("1.500.000", "1500000"),
        ("1,500,000", "1500000"),
        # Full-width digits and signs are the plain ones.
        ("１２．５", "12.5"),
        ("１，２３４．５", "1234.5"),
        # A leading zero, or four digits before it, leaves a comma one reading.
        ("0,500", "0.5"),
        (",500", "0.5"),
        ("1234,567", "1234.567"),
        # Half-typed and zero-led numbers.
        (".5", "0.5"),
        (",5", "0.5"),
        ("5.", "5"),
        ("5,", "5"),
        ("007", "7"),
        ("0", "0"),
        # Fractions, on any keyboard.
        ("1/2", "1/2"),
        ("1 1/2", "3/2"),
        ("1  1 / 2", "3/2"),
        ("1½", "3/2"),
        ("1 ½", "3/2"),
        ("½", "1/2"),
        ("12⅞", "103/8"),
        ("1 1⁄2", "3/2"),
        ("2/3", "2/3"),
        # Spaces of every width outside the number.
        ("\u00a01.5\u2009", "1.5"),
        # Below zero, by either sign; zero has none.
        ("-5", "-5"),
        ("−5,5", "-5.5"),
        ("-1 1/2", "-3/2"),
        ("-0", "0"),
    ],
)
def test_plain_number_is_read_at_its_own_size(text: str, value: str) -> None:
    assert read_quantity(text, ()).number == Fraction(value)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        # Spelled, capital, dotted, closed up, with narrow spaces.
        ("5 kg", "5", "kg"),
        ("5KG", "5", "kg"),
        ("5 Kilograms", "5", "kg"),
        ("5.kg", "5", "kg"),
        ("3 lbs.", "3", "lb"),
        ("3 Pounds", "3", "lb"),
        ("1½ lb", "3/2", "lb"),
        ("250\u202fg", "250", "g"),
        # 16 oz to the pound, 1000 g to the kilogram; given in the smaller unit.
        ("12 lb 4.5 oz", "196.5", "oz"),
        ("12lb4,5oz", "196.5", "oz"),
        ("1 lb ½ oz", "16.5", "oz"),
        ("0 lb 15.99 oz", "15.99", "oz"),
        ("1 kg 250 g", "1250", "g"),
        # Lengths.
        ("1 3/8 in", "11/8", "in"),
        ('3/8"', "3/8", "in"),
        ("25.4mm", "25.4", "mm"),
        # Volumes.
        ("2 fl. oz.", "2", "fl_oz"),
        ("2 fl_oz", "2", "fl_oz"),
        ("1 US gal", "1", "gal"),
        ("1,5 L", "1.5", "l"),
        ("５ｋｇ", "5", "kg"),
        # A point before three digits, in units that are shown with three decimals: what a scale shows, and an eighth.
        ("12.345 kg", "12.345", "kg"),
        ("1.500 lb", "1.5", "lb"),
        ("1.125 in", "1.125", "in"),
        # Fewer than sixteen ounces make no pound: no thousands there.
        ("3 lb 1,500 oz", "49.5", "oz"),
        # Temperatures, with the signs keyboards give for a degree.
        ("38 °C", "38", "degC"),
        ("100°F", "100", "degF"),
        ("38 ºc", "38", "degC"),
        ("38 ℃", "38", "degC"),
        ("-5 C", "-5", "degC"),
        # Per cent.
        ("45%", "45", "%"),
        ("45 per cent", "45", "%"),
    ],
)
def test_unit_typed_with_the_number_is_understood(text: str, value: str, unit: str) -> None:
    read = read_quantity(text, tuple(ALL_UNITS))
    assert (read.number, read.unit) == (Fraction(value), unit)


@pytest.mark.parametrize(
    ("text", "code", "named"),
    [
        # Two readings a thousand times apart: both are named.
        ("1,500", "ambiguous-number", ("1.5", "1500")),
        ("12,345 kg", "ambiguous-number", ("12.345", "12345")),
        ("120,000", "ambiguous-number", ("120", "120000")),
        ("-1,500", "ambiguous-number", ("1.5", "1500")),
        ("50.000 g", "ambiguous-number", ("50", "50000")),
        ("１．５００ g", "ambiguous-number", ("1.5", "1500")),
        # The reading in decimals is named in a form that has one reading itself.
        ("12.345 g", "ambiguous-number", ("12.3450", "12345")),
        # Marks or spaces between thousands, in the habits of several countries.
        ("1'500", "grouped-number", ("1500",)),
        ("1’500.5", "grouped-number", ("1500.5",)),
        ("1,00,000", "grouped-number", ("100000",)),
        ("1 500", "spaced-number", ("1500", "separate numbers")),
        ("1\u00a0500 kg", "spaced-number", ("1500",)),
        ("12 345 678,5", "spaced-number", ("12345678,5",)),
        # A space that may have been lost: five and a half, or one and a half.
        ("11/2", "improper-fraction", ("5 1/2",)),
        ("11/2 lb", "improper-fraction", ("5 1/2",)),
        ("4/2", "improper-fraction", ("2",)),
        ("1 3/2", "improper-fraction", ("2 1/2",)),
        ("1/0", "zero-denominator", ()),
        ("1 0/0", "zero-denominator", ()),
        ("1.5 1/2", "unreadable-number", ("1 1/2", "1.5")),
        ("1.5½", "unreadable-number", ()),
        ("1,5/2", "unreadable-number", ()),
        # Exponents, signs and words that a programming language would take for numbers.
        ("1e3", "exponent", ("1500",)),
        ("1E-3 kg", "exponent", ()),
        ("2.e5", "exponent", ()),
        ("+5", "plus-sign", ()),
        ("nan", "not-a-number", ("Type one number",)),
        ("Infinity", "not-a-number", ()),
        ("∞", "not-a-number", ()),
        ("-", "not-a-number", ()),
        ("", "not-a-number", ()),
        ("½½½", "unreadable-number", ()),
        ("1_500", "unreadable-number", ()),
        ("0x10", "unknown-unit", ()),
        ("--5", "unreadable-number", ()),
        ("(5)", "unreadable-number", ()),
        # Digits of other scripts; the plain reading is offered, never taken.
        ("٣٫٥", "foreign-digits", ("3.5",)),
        ("१५", "foreign-digits", ("15",)),
        ("𝟓", "foreign-digits", ("5",)),
        ("١٬٥٠٠", "foreign-digits", ("0 to 9",)),
        ("5²", "unreadable-number", ()),
        # Not one number.
        ("5 5", "unreadable-number", ("two numbers",)),
        ("5-8", "unreadable-number", ()),
        ("5 x 8", "unknown-unit", ()),
        ("1..5", "unreadable-number", ()),
        ("1,5,3", "unreadable-number", ()),
        ("1/2/3", "unreadable-number", ()),
        ("5 kg 1/2", "unreadable-number", ()),
        ("1 lb 2 oz 3 g", "unreadable-number", ()),
        # Units that are not offered, or that do not go together.
        ("5 kg kg", "unknown-unit", ("kg kg",)),
        ("5 M", "unknown-unit", ("M", "g, kg, oz or lb")),
        ("5 gr", "unknown-unit", ()),
        ("5 mm", "unknown-unit", ()),
        ("kg 5", "unreadable-number", ()),
        ("5 oz 3 lb", "mixed-units", ()),
        ("5 kg 3 oz", "mixed-units", ()),
        ("12 lb 16 oz", "mixed-units", ("16 oz",)),
        ("1.5 lb 3 oz", "mixed-units", ("whole",)),
        ("1 1/2 lb 3 oz", "mixed-units", ()),
        ("-1 lb 3 oz", "unreadable-number", ()),
        # Hostile or broken text.
        ("<script>alert(1)</script>", "unreadable-number", ("<script>",)),
        ("5\u200b", "hidden-character", ()),
        ("\u202e5", "hidden-character", ()),
        ("5\x00", "hidden-character", ()),
        ("5\n5", "hidden-character", ()),
        ("\ud800", "hidden-character", ()),
        ("9" * 41, "too-long", ("41", "40")),
        ("1 " * 100_000, "too-long", ()),
    ],
)
def test_text_that_is_not_one_quantity_is_refused_with_what_to_type(
    text: str, code: str, named: tuple[str, ...]
) -> None:
    with pytest.raises(Unreadable) as refused:
        read_quantity(text, MASS)
    assert refused.value.code == code
    words = f"{refused.value.why} {refused.value.remedy}"
    assert all(part in words for part in named), words
    assert words.isprintable() and len(words) < 250


def below(most: int):
    return lambda number, unit: abs(number) < most


@pytest.mark.parametrize(
    ("text", "beside", "most", "value"),
    [
        # So many thousands are more than the field takes: the decimals are meant, by either mark.
        ("12,345", "kg", 1000, "12.345"),
        ("12.345", "%", 100, "12.345"),
        ("1.500", "mm", 1500, "1.5"),
        ("-1,500", "degC", 200, "-1.5"),
        # A point in kilograms is a scale's, whatever the field takes.
        ("4.567", "kg", 5000, "4.567"),
        # Otherwise it is asked back; the unit typed decides, not the one beside.
        ("1.500", "mm", 1501, None),
        ("4,567", "kg", 5000, None),
        # Round thousands by comma are meant as such; that they are too much is for the field to say.
        ("3,000", "lb", 2000, None),
        ("4.567 g", "kg", 5000, None),
    ],
)
def test_thousands_are_asked_about_only_where_the_field_takes_as_many(
    text: str, beside: str, most: int, value: str | None
) -> None:
    if value is not None:
        assert read_quantity(text, MASS, beside=beside, fits=below(most)).number == Fraction(value)
        return
    with pytest.raises(Unreadable) as refused:
        read_quantity(text, MASS, beside=beside, fits=below(most))
    assert refused.value.code == "ambiguous-number"


@pytest.mark.parametrize("locale", ["en_US", "en_GB", "es_ES", "es_MX", "es_GT", "es_419", "es_CR"])
def test_numbers_as_english_and_spanish_write_them_are_read_at_their_size_or_asked_back(locale: str) -> None:
    """The oracle is Unicode's own number formats (CLDR, by way of Babel)."""
    taken = set()
    for number in (*CLDR_NUMBERS, *(-each for each in CLDR_NUMBERS)):
        text = format_decimal(Decimal(number), "#,##0.######", locale=locale)
        for written in (text, f"{text} g", text.replace("-", "\N{MINUS SIGN}")):
            try:
                assert read_quantity(written, MASS).number == Fraction(str(number)), written
                taken.add(number)
            except Unreadable as refused:
                if "\N{NO-BREAK SPACE}" in text or "\N{NARROW NO-BREAK SPACE}" in text:
                    assert refused.code == "spaced-number", written
                else:
                    # One mark, three digits behind it; the number meant is one of the two that are named.
                    assert refused.code == "ambiguous-number", written
                    assert f"{abs(number):f}".rstrip("0").rstrip(".") in refused.remedy, (written, refused.remedy)
    # At least all that have no three digits behind a single mark.
    assert {Decimal("0.5"), Decimal("12.5"), Decimal("123.45"), Decimal(7)} <= taken


CLDR_NUMBERS = [Decimal(text) for text in (
    "7", "45", "999", "1000", "1500", "1234.5", "12345", "12345.6", "50000", "123456", "1234567", "1234567.25", "0.5", "0.125",
    "0.0005", "12.5", "12.345", "123.45", "1.5", "1.125", "1234.567", "98765.4321",
)]  # fmt: skip


def test_fluid_ounces_and_ounces_are_never_taken_for_each_other() -> None:
    for text, kind in (("5 oz", "volume"), ("5 fl oz", "mass")):
        with pytest.raises(Unreadable) as refused:
            read_quantity(text, typed_units(kind))
        assert refused.value.code == "unknown-unit"


def test_a_plain_number_takes_no_unit() -> None:
    with pytest.raises(Unreadable) as refused:
        read_quantity("12 bars", ())
    assert refused.value.code == "unknown-unit"
    assert refused.value.remedy == how_to_type(()) == how_to_type(("",))


def test_a_quoted_text_shows_nothing_unseen_and_stays_short() -> None:
    assert quoted("a\u202eb\x00") == "“a\ufffdb\ufffd”"
    assert len(quoted("x" * 1000)) < 50
