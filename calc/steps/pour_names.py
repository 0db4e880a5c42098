"""What a pour is called: its name in a sheet is English or the maker's own, on the screen in the reader's language."""

from calc.entry.language import later, tr

NAMES = (
    later("Water"),
    later("Water, into the lye pail first"),
    later("Caustic soda (NaOH) lye"),
    later("Caustic soda (NaOH), into the water"),
    later("Caustic potash (KOH) lye"),
    later("Caustic potash (KOH), into the water"),
    later("All of the lye just made"),
    later("Scent"),
)
SCENT = "Scent "
# Among the ways back, where several names stand beside each other.
SHORT = {"Olive oil (virgin and refined)": later("Olive oil")}


def pour_name(name: str) -> str:
    """A pour's name in the language spoken: "Caustic soda (NaOH) lye"; an own oil's as it was typed."""
    if name.startswith(SCENT):
        return tr("Scent {name}", name=name.removeprefix(SCENT))
    return tr(name)


def short(name: str) -> str:
    """A pour's name as it is called where the kind of it goes without saying: "Olive oil"."""
    return SHORT.get(name, name)


def within(name: str) -> str:
    """The same inside a sentence, without what follows a comma: "olive oil", "caustic soda (NaOH) lye"."""
    found = pour_name(name).split(",")[0]
    return found[:1].lower() + found[1:] if found[1:2].islower() else found
