"""Every kind of item that a workshop stores, by the name under which it is stored."""


from calc.entry.language import later
from calc.workshop.equipment import Cutter, Mould, ScaleItem, Vessel
from calc.workshop.habits import Habits
from calc.workshop.lots import AlkaliLot, OilLot
from calc.workshop.own_oils import OwnOil
from calc.workshop.people import Person
from calc.workshop.safety_place import SafetyPlace
from calc.workshop.scents import Scent, ScentLot
from calc.workshop.shop import Shop

# kind -> (declaration, what one is called, what many are called); the order is that of the Workshop page
KINDS: dict[str, tuple[type, str, str]] = {
    "shop": (Shop, "Workshop", "Workshop"),
    "mould": (Mould, later("mould"), "Moulds"),
    "cutter": (Cutter, later("cutter"), "Cutters"),
    "vessel": (Vessel, later("vessel"), "Vessels"),
    "scale": (ScaleItem, later("scale"), "Scales"),
    "floor": (Habits, "work at the scale", "Work at the scale"),
    "safety": (SafetyPlace, "emergency details", "Emergency and safety walk"),
    "alkali_lot": (AlkaliLot, later("alkali lot"), "Alkali lots"),
    "oil_lot": (OilLot, later("oil lot"), "Oil lots"),
    "scent": (Scent, "scent", "Scents"),
    "scent_lot": (ScentLot, "scent lot", "Scent lots"),
    "own_oil": (OwnOil, "oil of your own", "Oils of your own"),
    "person": (Person, "person", "People"),
}

# Kinds of which there is one at most; it is stored under the kind's own name.
ONE_OF_A_KIND = ("shop", "floor", "safety")
