"""What is said of a soap, looked through for words that change what it is by law. Nothing is ever claimed from here.

21 CFR 701.20: soap is what is, but for water, mostly alkali salts of fatty acids, cleans by them, and is labeled, sold and
represented only as soap. Whatever else cleans the body is a cosmetic there; what is to treat or prevent a disease, or to change how the body works,
a drug. In the European Union a soap for the body is a cosmetic always. The law and the authority decide, not this list.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from calc.tables.label import READ, claim_words

BULK = 0.5
SOAP = re.compile(r"\b(soaps?|savon|jab[oó]n(?:es)?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Found:
    """A word as it was typed, and what it makes: "cosmetic", "drug", or a claim that needs "proof"; recalled: that was not read."""

    word: str
    makes: str
    recalled: bool = False


@dataclass(frozen=True)
class Standing:
    """The class that words and bar come to in the United States: "soap", "cosmetic" or "drug"; with why."""

    us: str
    found: tuple[Found, ...]
    called_soap: bool
    mostly_salts: bool


def looked_through(texts: Sequence[str]) -> tuple[Found, ...]:
    """Every word of the list that the texts hold, each once, as it was typed."""
    found: dict[tuple[str, str], Found] = {}
    for text in texts:
        for word in claim_words():
            # Some are words only as they stand: "cure" is not "cured", and bars are.
            tail = r"\b" if word.whole else r"[\w-]*"
            for match in re.finditer(rf"(?<!\w){re.escape(word.begins)}{tail}", text, re.IGNORECASE):
                found.setdefault((match[0].casefold(), word.makes), Found(match[0], word.makes, word.how != READ))
    return tuple(found.values())


def standing(identity: str, texts: Sequence[str], salts_of_solids_fraction: float) -> Standing:
    """What a soap is by law in the United States. identity: what the label says that it is. salts_of_solids_fraction: of the bar (0..1)."""
    found = looked_through([identity, *texts])
    called_soap, mostly_salts = SOAP.search(identity) is not None, salts_of_solids_fraction > BULK
    if any(each.makes == "drug" for each in found):
        us = "drug"
    elif any(each.makes == "cosmetic" for each in found) or not called_soap or not mostly_salts:
        us = "cosmetic"
    else:
        us = "soap"
    return Standing(us, found, called_soap, mostly_salts)
