"""What a supplier's papers can name, by the keys under which forms and records hold it."""

import re

from calc.tables.fragrance import Allergen, fragrance_allergens, fragrance_rules

LABEL_PREFIX = "label:"


def constituents() -> dict[str, str]:
    """What an analysis can name, by key: what is limited, prohibited, or has to be named on the label."""

    def ruled(kind: str) -> dict[str, str]:
        return {rule.limit_key: rule.constituent for rule in fragrance_rules() if rule.kind == kind and rule.limit_key}

    named = {key_of(allergen): allergen.label_name for allergen in fragrance_allergens()}
    found = {**named, **ruled("prohibition"), **ruled("restriction")}
    return dict(sorted(found.items(), key=lambda pair: pair[1].casefold()))


def key_of(allergen: Allergen) -> str:
    return allergen.limit_key or _label_key(allergen)


def _label_key(allergen: Allergen) -> str:
    """A key made of the label's name: an id of a form holds no spaces or strokes."""
    return LABEL_PREFIX + re.sub(r"[^A-Za-z0-9]", "_", allergen.label_name)


def key_now(key: str) -> str:
    """Today's key of a constituent that was stored under its label's name, before the tables had a limit for it."""
    return next((key_of(each) for each in fragrance_allergens() if _label_key(each) == key), key)
