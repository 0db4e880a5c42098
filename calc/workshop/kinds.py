"""Every kind of item that a workshop stores, by the name under which it is stored."""


from calc.entry.language import later
from calc.workshop.equipment import Cutter, Mould, Rack, ScaleItem, Vessel
from calc.workshop.frames import BarFrame, LoafFrame
from calc.workshop.habits import Habits
from calc.workshop.lots import AdditiveLot, AlkaliLot, OilLot, PackagingLot
from calc.workshop.own_oils import OwnOil
from calc.workshop.people import Person
from calc.workshop.safety_place import SafetyPlace
from calc.workshop.scents import Scent, ScentLot
from calc.workshop.selling import Outlet, ReleaseChecks
from calc.workshop.shop import Shop
from calc.workshop.tanks import Tank
from calc.workshop.upkeep import UpkeepTask

# kind -> (declaration, what one is called, what many are called); the order is that of the Workshop page
KINDS: dict[str, tuple[type, str, str]] = {
    "shop": (Shop, later("Workshop"), later("Workshop")),
    "mould": (Mould, later("mold"), later("Molds")),
    "cutter": (Cutter, later("cutter"), later("Cutters")),
    "loaf_frame": (LoafFrame, later("loaf frame"), later("Loaf frames")),
    "bar_frame": (BarFrame, later("bar frame"), later("Bar frames")),
    "rack": (Rack, later("rack"), later("Racks")),
    "tank": (Tank, later("tank"), later("Tanks")),
    "vessel": (Vessel, later("vessel"), later("Vessels")),
    "scale": (ScaleItem, later("scale"), later("Scales")),
    "floor": (Habits, later("work at the scale"), later("Work at the scale")),
    "safety": (SafetyPlace, later("emergency details"), later("Emergency and safety walk")),
    "alkali_lot": (AlkaliLot, later("alkali lot"), later("Alkali lots")),
    "oil_lot": (OilLot, later("oil lot"), later("Oil lots")),
    "scent": (Scent, later("scent"), later("Scents")),
    "scent_lot": (ScentLot, later("scent lot"), later("Scent lots")),
    "additive_lot": (AdditiveLot, later("additive lot"), later("Additive lots")),
    "packaging_lot": (PackagingLot, later("packaging lot"), later("Packaging lots")),
    "own_oil": (OwnOil, later("oil of your own"), later("Oils of your own")),
    "upkeep": (UpkeepTask, later("upkeep task"), later("Upkeep")),
    "person": (Person, later("person"), later("People")),
    "release_checks": (ReleaseChecks, later("checks before the sale"), later("Checks before the sale")),
    "outlet": (Outlet, later("outlet"), later("Outlets")),
}

# Kinds with one item at most, which is stored under the kind's own name.
ONE_OF_A_KIND = ("shop", "floor", "safety", "release_checks")
