"""What a pour is called: on a sheet in English or the maker's own words, on screen in the reader's language."""

from collections.abc import Iterable

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
    later("Oil blend"),
    later("Set-aside soap"),
)
# For inside a sentence, where the name on the sheet says more than what the thing is.
WITHIN = {
    "Water, into the lye pail first": later("water"),
    "Caustic soda (NaOH) lye": later("caustic soda (NaOH) lye"),
    "Caustic soda (NaOH), into the water": later("caustic soda (NaOH)"),
    "Caustic potash (KOH) lye": later("caustic potash (KOH) lye"),
    "Caustic potash (KOH), into the water": later("caustic potash (KOH)"),
    "Oil blend": later("the oil blend"),
    "Sunflower seed oil, high-oleic": later("sunflower oil"),
    "Sunflower seed oil, mid-oleic": later("sunflower oil"),
    "Rapeseed oil, low-erucic (canola)": later("canola oil"),
    "Safflower seed oil, high-oleic": later("safflower oil"),
    "Groundnut (peanut, arachis) oil": later("peanut oil"),
    "Illipe butter (Borneo tallow, Shorea spp.)": later("illipe butter"),
    "Stearic acid, commercial (stearic/palmitic about 50:50)": later("stearic acid"),
    "Citric acid, anhydrous": later("citric acid"),
    "Citric acid, monohydrate": later("citric acid"),
}
# The same where another of its kind is poured too, as "sunflower seed oil" alone would be both.
APART = {
    "Sunflower seed oil (linoleic)": later("linoleic sunflower oil"),
    "Sunflower seed oil, high-oleic": later("high-oleic sunflower oil"),
    "Sunflower seed oil, mid-oleic": later("mid-oleic sunflower oil"),
    "Safflower seed oil (linoleic)": later("linoleic safflower oil"),
    "Safflower seed oil, high-oleic": later("high-oleic safflower oil"),
    "Citric acid, anhydrous": later("anhydrous citric acid"),
    "Citric acid, monohydrate": later("citric acid monohydrate"),
}
# Among the ways back, where several names stand beside each other.
SHORT = {"Olive oil (virgin and refined)": later("Olive oil")}


def pour_name(name: str, scent: str | None = None) -> str:
    """A pour's name in the reader's language: "Caustic soda (NaOH) lye". Names of own oils and scents stay as typed."""
    return tr(name) if scent is None else tr("Scent {name}", name=scent)


def short(name: str) -> str:
    """A pour's name where its kind goes without saying: "Olive oil"."""
    return SHORT.get(name, name)


def within(name: str, scent: str | None = None, beside: Iterable[str] = ()) -> str:
    """The same inside a sentence: "olive oil", "caustic soda (NaOH) lye", "scent Marsh".

    beside: the names of all that is poured; two of a kind are told apart.
    """
    if name in APART and any(_kind(other) == _kind(name) for other in beside if other != name):
        return tr(APART[name])
    if name in WITHIN:
        return tr(WITHIN[name])
    found = pour_name(name, scent)
    return found[:1].lower() + found[1:] if found[1:2].islower() else found


def _kind(name: str) -> str:
    """What of a name says neither sort nor form: "Sunflower seed oil"."""
    return name.partition(" (")[0].partition(", ")[0]
