"""The country of origin, which a label names where the soap is imported, and nowhere else.

European Union: Regulation (EC) 1223/2009, Article 19(1)(a). United States: 19 CFR 134.11, from memory. There "made in" is a
claim of its own as well (16 CFR 323, from memory): nothing is said that no law asks for.
"""

from collections.abc import Sequence

from calc.entry.language import tr


def imported_into(markets: Sequence[str], made_where: str | None) -> tuple[str, ...]:
    """Those of the markets ("us", "eu") that lie outside where it's made; none where nobody has said that.

    >>> imported_into(("us", "eu"), "us"), imported_into(("eu",), "else"), imported_into(("eu",), None)
    (('eu',), ('eu',), ())
    """
    return tuple(market for market in markets if made_where is not None and market != made_where)


def country(made_where: str | None, made_in: str | None) -> str | None:
    """The country as a label names it; None where nobody has named it."""
    return tr("USA") if made_where == "us" else made_in
