"""A typed quantity taken apart into an exact number and a unit; whatever can be read two ways is refused.

'1,5' and '1.5' are both one and a half; '1 1/2 lb', '1½ lb', '12 lb 4.5 oz', '38 °C' and '45 %' are understood, and so
is whatever has one reading to an English and to a Spanish reader alike: '1.234,5', '1,234.5', '1.234.567'. Full-width
digits are the plain ones.

One mark before exactly three digits is a decimal sign to one reader and parts thousands for another. It is asked back,
with both readings named, except in two cases. First, where the thousands would lie outside what the field takes ('12,345
kg' of batter, '12.345 %'), the decimals are meant; but round thousands with a comma ('3,000 lb') are still asked back,
since whoever wants more than the field takes must be told so. Second, a point is a decimal point where three decimals are
usual (`THREE_DECIMALS`): '12.345 kg' is what a scale with steps of 1 g shows, '1.125 in' is an eighth; but no display
writes fifty grams as '50.000 g'.

Spaces and apostrophes between thousands, exponents and digits of other scripts are refused with the reading named.
Nothing is ever guessed, and no text goes further than this module.
"""

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from calc.entry.language import tr
from calc.entry.shown import number as shown
from calc.entry.units import show_unit

LONGEST = 40
_SPACES = re.compile(r"[ \t\u00a0\u2000-\u200a\u202f\u205f\u3000]+")
_RUN = r"[.,]?[0-9][0-9.,'’]*+"
_FRACTION = re.compile(rf"(?:({_RUN}) )?({_RUN}) ?/ ?({_RUN})")
_PART = re.compile(rf"({_RUN} {_RUN} ?/ ?{_RUN}|{_RUN} ?/ ?{_RUN}|{_RUN}) ?((?:(?![.,]?[0-9]).)*)")
_GROUPED = re.compile(r"[0-9]{1,3}(?:[.,'’][0-9]{2,3})*[.,'’][0-9]{3}(?:[.,][0-9]*)?")
# Two marks at least, and so one reading: groups by one mark, decimals after the other one.
_THOUSANDS = re.compile(r"([1-9][0-9]{0,2}(?:(?P<mark>[.,])[0-9]{3})(?:(?P=mark)[0-9]{3})*)(?:(?!(?P=mark))[.,]([0-9]*))?")
_SPACED = re.compile(r"(?<![0-9.,'’])[0-9]{1,3}(?: [0-9]{3})+(?![0-9]| ?/)(?:[.,][0-9]*)?")
_EXPONENT = re.compile(r"[0-9.,] ?e ?[+−-]?[0-9]", re.IGNORECASE)
_VULGAR = re.compile("[¼½¾⅐-⅞]")
_FULL_WIDTH = re.compile("[\uff01-\uff5e]+")
# Common practice, no source: what displays and measures in these units show. US units are halved, and an eighth is .125.
THREE_DECIMALS = ("kg", "lb", "oz", "l", "gal", "fl_oz", "in", "kW", "g/ml", "kg/l")
_LOOKALIKES = str.maketrans({"º": "°", "˚": "°", "⁄": "/", "-": "−"})
# Never a spelling another unit could claim: no 'gr' (grain), no 'm' (metre or milli), no 'oz' for volume.
_SPELLINGS = {
    "g": "g|gram|grams|gramme|grammes",
    "kg": "kg|kgs|kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes",
    "oz": "oz|ounce|ounces",
    "lb": "lb|lbs|pound|pounds",
    "mm": "mm|millimetre|millimetres|millimeter|millimeters",
    "cm": "cm|centimetre|centimetres|centimeter|centimeters",
    "in": 'in|inch|inches|"|″|”',
    "ml": "ml|millilitre|millilitres|milliliter|milliliters",
    "l": "l|litre|litres|liter|liters",
    "fl_oz": "fl oz|floz|us fl oz|fluid ounce|fluid ounces",
    "gal": "gal|us gal|gallon|gallons|us gallon|us gallons",
    "degC": "degc|c|°c|° c|℃|celsius",
    "degF": "degf|f|°f|° f|℉|fahrenheit",
    "%": "%|percent|per cent|pct",
    "g/ml": "g/ml",
    "kg/l": "kg/l",
    "mg/g": "mg/g|mg koh/g",
    "W": "w|watt|watts",
    "kW": "kw|kilowatt|kilowatts",
}
_COMPOUNDS = {("lb", "oz"): 16, ("kg", "g"): 1000}


@dataclass(frozen=True)
class TypedQuantity:
    """The exact number, and the unit when one was typed with it."""

    number: Fraction
    unit: str | None


class Unreadable(ValueError):
    """Why a text is not one quantity, and what to type instead; both are whole sentences."""

    def __init__(self, code: str, why: str, remedy: str) -> None:
        super().__init__(code, why, remedy)
        self.code, self.why, self.remedy = code, why, remedy


def read_quantity(
    text: str, units: tuple[str, ...], *, beside: str = "", fits: Callable[[Fraction, str], bool] = lambda number, unit: True
) -> TypedQuantity:
    """The quantity a person typed; units are those that may be typed with it, () or ("",) for a plain number.

    beside: the unit where none is typed. fits: whether the field accepts an amount in a unit; asked about thousands only.
    A minus sign is understood; whether it makes sense is for the caller to judge. Raises Unreadable.
    """
    text = one_spaced(_FULL_WIDTH.sub(lambda found: unicodedata.normalize("NFKC", found[0]), text))
    _refuse_unusual_characters(text)
    negative = text[:1] in ("-", "−")
    tidy = _VULGAR.sub(lambda found: f" {unicodedata.normalize('NFKC', found[0])} ", text[negative:])
    tidy = one_spaced(tidy.translate(_LOOKALIKES))
    _refuse_unusual_numbers(text, tidy)

    parts, at = [], 0
    while at < len(tidy):
        found = _PART.match(tidy, at)
        if not found:
            raise _not_one_number(text, units)
        parts.append((found[1], _unit(found[2], text, units)))
        at = found.end()
    if len(parts) == 1:
        unit = parts[0][1]
        number = _number(parts[0][0], text, _Thousands(beside if unit is None else unit, fits, -1 if negative else 1))
        typed = TypedQuantity(number, unit)
    elif len(parts) == 2 and not negative:
        typed = _compound(parts, text, units)
    else:
        raise _not_one_number(text, units)
    return TypedQuantity(-typed.number, typed.unit) if negative else typed


@dataclass(frozen=True)
class _Thousands:
    """What decides whether a mark before three digits may part thousands."""

    unit: str
    fits: Callable[[Fraction, str], bool]
    sign: int = 1

    def possible(self, mark: str, whole: int) -> bool:
        """Whether that mark may part the thousands of this whole number."""
        if mark == "." and self.unit in THREE_DECIMALS:
            return False
        return (mark == "," and whole % 1000 == 0) or self.fits(Fraction(self.sign * whole), self.unit)


def one_spaced(text: str) -> str:
    """The text without outer spaces and with every run of spaces (also non-breaking and thin ones) as one."""
    return _SPACES.sub(" ", text).strip()


def quoted(text: str) -> str:
    """A person's own text inside a message: shortened, and with nothing in it that cannot be seen."""
    short = text if len(text) <= LONGEST else text[:LONGEST] + "…"
    return "“" + "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in short) + "”"


def how_to_type(units: tuple[str, ...]) -> str:
    """What to type in a field with these units, as a sentence."""
    names = [show_unit(unit) for unit in units if unit]
    if not names:
        return tr("Type one plain number, like 12.")
    if len(names) == 1:
        return tr("Type one number, in {unit}.", unit=names[0])
    return tr("Type one number, in {units} or {last}.", units=", ".join(names[:-1]), last=names[-1])


def _not_one_number(text: str, units: tuple[str, ...]) -> Unreadable:
    if not any(char.isnumeric() for char in text):
        return Unreadable("not-a-number", tr("{typed} has no number in it.", typed=quoted(text)), how_to_type(units))
    return Unreadable("unreadable-number", tr("{typed} can't be read as one number.", typed=quoted(text)), how_to_type(units))


def _refuse_unusual_characters(text: str) -> None:
    if len(text) > LONGEST:
        raise Unreadable(
            "too-long",
            tr("The entry has {n} characters; a number has at most {most}.", n=len(text), most=LONGEST),
            tr("Type only the number and its unit."),
        )
    if any(unicodedata.category(char)[0] == "C" for char in text):
        raise Unreadable("hidden-character", tr("The entry has a character that can't be seen."), tr("Type it by hand."))
    plain = "".join(_plain(char) for char in text)
    if plain != text:
        remedy = tr("If you mean {number}, type that.", number=plain) if plain.isascii() else tr("Type it with the digits 0 to 9.")
        message = tr("{typed} isn't in the plain digits 0 to 9.", typed=quoted(text))
        raise Unreadable("foreign-digits", message, remedy)


def _plain(char: str) -> str:
    """The plain form of a digit of another script; any other character stays as it is."""
    if unicodedata.category(char) == "Nd":
        return str(unicodedata.decimal(char))
    return "." if char == "\N{ARABIC DECIMAL SEPARATOR}" else char


def _refuse_unusual_numbers(text: str, tidy: str) -> None:
    if tidy.startswith("+"):
        raise Unreadable("plus-sign", tr("{typed} begins with a plus sign.", typed=quoted(text)), tr("Type it without the sign."))
    if _EXPONENT.search(tidy):
        raise Unreadable(
            "exponent",
            tr("{typed} is written with an exponent.", typed=quoted(text)),
            tr("Type the number in full, like 1500."),
        )
    if spaced := _SPACED.search(tidy):
        joined = spaced[0].replace(" ", "")
        raise Unreadable(
            "spaced-number",
            tr("{typed} can be read as {joined} or as separate numbers.", typed=quoted(text), joined=joined),
            tr("Type {joined} without a space, or one number only.", joined=joined),
        )


def _unit(typed: str, text: str, units: tuple[str, ...]) -> str | None:
    spelling = re.sub(r"\.(?= |$)", "", typed.strip().lower().replace("_", " ")).replace(" / ", "/")
    if not spelling:
        return None
    for unit in units:
        if spelling in _SPELLINGS.get(unit, "").split("|"):
            return unit
    if not any(char.isalpha() or char in "%°'’\"″”" for char in spelling):
        raise _not_one_number(text, units)
    message = tr("{typed} isn't a unit offered here.", typed=quoted(typed.strip()))
    raise Unreadable("unknown-unit", message, how_to_type(units))


def _number(run: str, text: str, thousands: _Thousands | None) -> Fraction:
    found = _FRACTION.fullmatch(run)
    return _fraction(found[1] or "0", found[2], found[3], text) if found else _decimal(run, text, thousands)


def _fraction(whole: str, top: str, bottom: str, text: str) -> Fraction:
    if not (whole + top + bottom).isdecimal():
        raise Unreadable(
            "unreadable-number",
            tr("{typed} mixes a fraction with a decimal.", typed=quoted(text)),
            tr("Type a whole number, a space and a fraction, like 1 1/2, or a decimal, like 1.5."),
        )
    if int(bottom) == 0:
        message = tr("{typed} divides by zero.", typed=quoted(text))
        raise Unreadable("zero-denominator", message, tr("Type a fraction, like 1/2."))
    units, rest = divmod(int(top), int(bottom))
    if units:
        # 11/2 may be 1 1/2 whose space was lost: five and a half, or one and a half.
        meant = f"{int(whole) + units} {rest}/{bottom}" if rest else f"{int(whole) + units}"
        raise Unreadable(
            "improper-fraction",
            tr("{typed} can be read as {meant}, or as a number that lost a space.", typed=quoted(text), meant=meant),
            tr("If you mean {meant}, type that. Otherwise put a space before the fraction.", meant=meant),
        )
    return int(whole) + Fraction(int(top), int(bottom))


def _decimal(run: str, text: str, thousands: _Thousands | None) -> Fraction:
    marks = re.sub("[0-9]", "", run)
    if len(marks) > 1 or marks in ("'", "’"):
        return _grouped(run, marks, text)
    whole, _, decimals = run.replace(",", ".").partition(".")
    exact = Fraction(f"{whole or 0}.{decimals or 0}")
    parted = len(decimals) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0"
    if thousands and parted and thousands.possible(marks, int(whole + decimals)):
        one, other = shown(float(exact)), int(whole + decimals)
        if decimals[-1] != "0" and thousands.possible(".", other):
            one += "0"  # a fourth decimal has one reading
        raise Unreadable(
            "ambiguous-number",
            tr("{typed} can be read as {one} or as {other}.", typed=quoted(text), one=one, other=other),
            tr("Type {one} or {other}.", one=one, other=other),
        )
    return exact


def _grouped(run: str, marks: str, text: str) -> Fraction:
    """A number with several marks, where it has one reading."""
    if found := _THOUSANDS.fullmatch(run):
        return Fraction(f"{re.sub('[.,]', '', found[1])}.{found[3] or 0}")
    if not _GROUPED.fullmatch(run):
        raise Unreadable(
            "unreadable-number",
            tr("{typed} has marks in it that don't make one number.", typed=quoted(text)),
            tr("Type one decimal point or comma at most."),
        )
    digits = re.sub("[^0-9]", "", run)
    if len(set(marks)) > 1:
        decimals = len(run) - 1 - run.rindex(marks[-1])
        digits = f"{digits[: len(digits) - decimals]}.{digits[len(digits) - decimals :]}"
    raise Unreadable(
        "grouped-number",
        tr("{typed} has marks between the thousands.", typed=quoted(text)),
        tr("Type it without them: {digits}, if you mean that.", digits=digits),
    )


def _compound(parts: list[tuple[str, str | None]], text: str, units: tuple[str, ...]) -> TypedQuantity:
    (first, larger), (second, smaller) = parts
    if larger is None or smaller is None:
        message = tr("{typed} has two numbers in it.", typed=quoted(text))
        raise Unreadable("unreadable-number", message, how_to_type(units))
    size = _COMPOUNDS.get((larger, smaller))
    if size is None:
        message = tr("{typed} mixes units that don't go together.", typed=quoted(text))
        raise Unreadable("mixed-units", message, how_to_type(units))
    rest = _number(second, text, None)  # sixteen ounces make a pound: there are no thousands
    if not first.isdecimal() or rest >= size:
        raise Unreadable(
            "mixed-units",
            tr(
                "{typed} needs a whole number of {larger} and less than {size} {smaller}.",
                typed=quoted(text), larger=larger, size=size, smaller=smaller,
            ),
            tr("Type it that way, or all in {larger} or all in {smaller}.", larger=larger, smaller=smaller),
        )
    return TypedQuantity(int(first) * size + rest, smaller)
