"""What a workshop owns, set up once: moulds, scales, vessels, the cutter, stock lots, people.

Each class is the one declaration of its form: label, units, limits with their reason and help stand here only.
"""

from dataclasses import dataclass

from calc.fields import Range, choice, count, item, measure, rows, text
from calc.floor import Floor
from calc.language import later
from calc.safety_place import SafetyPlace

MOULD_SIDE = Range(30.0, 3000.0, later("moulds for bar soap run from a single bar to a few metres"))
LOT_MASS = Range(0.0, 5_000_000.0, later("a lot of more than 5 tonnes is outside a small workshop"))
NOT_DEDUCTED = "Issuing a sheet takes nothing off: put in what is left yourself."
SAPONIFICATION_VALUE = Range(50.0, 400.0, later("fats and waxes lie between 50 and 400 mg KOH/g"))
NAME_LENGTH = 60
# A supplier's list of all allergens that a label may have to name, with room to spare.
LIST_LENGTH = 5000


@dataclass(frozen=True, kw_only=True)
class Shop:
    """The workshop itself."""

    name: str = text(later("Workshop name"), max_length=NAME_LENGTH, help="Printed at the top of each batch sheet.")
    code_prefix: str = text(
        later("Batch code prefix"), max_length=6, help="Two or three letters. A batch code is this, the date and a number."
    )
    tolerance_scheme: str = choice(
        later("Scale limits follow"),
        options={"R76": "OIML R 76, in service", "HB44": "NIST Handbook 44, maintenance"},
        help="The legal limits of error that a scale in use must keep. Used for the superfat interval.",
    )
    set_density_g_per_ml: float = measure(
        later("Density of set soap"),
        kind="density",
        offered=("g/ml", "kg/l"),
        refuse=Range(0.5, 1.5, later("bar soap that floats or sinks hard is outside what a cold-process block gives")),
        warn=Range(0.95, 1.12, later("set cold-process soap is usually 1.0 to 1.1 g/ml (common practice, no source)")),
        help="Weigh one fresh bar and divide by its volume. Usual span 1.0 to 1.1 (common practice, no source).",
    )
    market: str | None = choice(
        later("Soap is sold in"),
        options={"us": "United States", "eu": "European Union", "both": "Both"},
        optional=True,
        help="Whose law judges scent and label. Not stated: both.",
    )
    scent_rules: str | None = choice(
        later("Scent keeps to"),
        options={"both": "EU law and IFRA Standards", "eu": "EU law", "ifra": "IFRA Standards"},
        optional=True,
        help="Where you sell decides about EU law, if you have said it above. Not stated: both.",
    )
    cure_loss_fraction: float | None = measure(
        later("Weight lost in cure"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 0.5, later("a bar that loses more than half was mostly water")),
        warn=Range(0.03, 0.25, later("bars usually lose 5 to 20 % in cure (common practice, no source)")),
        optional=True,
        help="Fresh block to sold bar. Needed to tell how much of the bar is scent.",
    )


@dataclass(frozen=True, kw_only=True)
class Mould:
    """A block mould, inner measures with the liner in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    length_mm: float = measure(
        later("Inner length"), kind="length", offered=("mm", "cm", "in"), us="in", refuse=MOULD_SIDE, help="With the liner in."
    )
    width_mm: float = measure(later("Inner width"), kind="length", offered=("mm", "cm", "in"), us="in", refuse=MOULD_SIDE)
    height_mm: float = measure(later("Inner height"), kind="length", offered=("mm", "cm", "in"), us="in", refuse=MOULD_SIDE)
    fill_height_mm: float = measure(
        later("Usual fill height"),
        kind="length",
        offered=("mm", "cm", "in"),
        us="in",
        refuse=MOULD_SIDE,
        help="From the bottom to the level you pour to. Leave room: hot batter can rise.",
    )


@dataclass(frozen=True, kw_only=True)
class ScaleItem:
    """A scale as its plate describes it."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_g: float = measure(
        later("Capacity (Max)"),
        kind="mass",
        offered=("kg", "g", "lb", "oz"),
        us="lb",
        refuse=Range(10.0, 2_000_000.0, later("scales used here carry from 10 g to 2 tonnes")),
        help="On the plate as Max.",
    )
    division_g: float = measure(
        later("Division (d)"),
        kind="mass",
        offered=("g", "kg", "oz", "lb"),
        us="oz",
        refuse=Range(0.001, 5000.0, later("divisions run from 1 mg to 5 kg")),
        help="The step in which the display counts.",
    )
    reads_in: str = choice(
        later("Display shows"), options={"kg": "kg", "g": "g", "lb": "lb", "oz": "oz"}, help="Targets are given in this unit."
    )
    accuracy_class: str = choice(
        later("Accuracy class"),
        options={"unmarked": "No class on the plate", "II": "II", "III": "III", "IIII": "IIII"},
        help="In an oval on the plate. Without one, class III limits are assumed and the sheet says so.",
    )


@dataclass(frozen=True, kw_only=True)
class Vessel:
    """A pot that is weighed into and mixed in."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    capacity_ml: float = measure(
        later("Brim volume"),
        kind="volume",
        offered=("l", "ml", "gal"),
        us="gal",
        refuse=Range(100.0, 2_000_000.0, later("mixing vessels here hold from 0.1 to 2000 litres")),
    )
    tare_g: float = measure(
        later("Empty weight (tare)"),
        kind="mass",
        offered=("kg", "g", "lb", "oz"),
        us="lb",
        refuse=Range(1.0, 1_000_000.0, later("an empty vessel weighs between 1 g and 1 tonne")),
        help="Clean and dry, with what always stays on it.",
    )


@dataclass(frozen=True, kw_only=True)
class Cutter:
    """Wire frames: the pitch of the wires along each side of the block."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    pitch_length_mm: float = measure(
        later("Wire pitch along the block's length"),
        kind="length",
        offered=("mm", "cm", "in"),
        us="in",
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
        help="Wire to wire. One of a bar's three sizes, plus the wire's own width where it removes soap.",
    )
    pitch_width_mm: float = measure(
        later("Wire pitch along the block's width"),
        kind="length",
        offered=("mm", "cm", "in"),
        us="in",
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
    )
    pitch_height_mm: float = measure(
        later("Wire pitch along the block's height"),
        kind="length",
        offered=("mm", "cm", "in"),
        us="in",
        refuse=Range(3.0, 1000.0, later("pieces thinner than 3 mm do not hold together")),
    )
    trim_mm: float = measure(
        later("Trim per side"),
        kind="length",
        offered=("mm", "cm", "in"),
        us="in",
        refuse=Range(0.0, 200.0, later("more than 200 mm of trim a side is no longer a trim")),
        help="Planed or cut off each face of the block. 0 when nothing is trimmed.",
    )
    kerf_mm: float = measure(
        later("Soap a cut removes (kerf)"),
        kind="length",
        offered=("mm", "in"),
        us="in",
        refuse=Range(0.0, 10.0, later("a cut wider than 10 mm is a saw for wood")),
        help="A thin wire pushes soap aside and removes none: 0 is usual for wire.",
    )


@dataclass(frozen=True, kw_only=True)
class OilLot:
    """A delivery of one oil; its certificate's saponification value stands above the table."""

    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help="Your own code, as written on the container.")
    oil: str = item(later("Oil"), kind="oil")
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})
    saponification_value: float | None = measure(
        later("Saponification value on the certificate"),
        kind="saponification_value",
        offered=("mg/g",),
        refuse=SAPONIFICATION_VALUE,
        optional=True,
        help="mg KOH per g. Leave empty when you have no certificate for this lot.",
    )
    saponification_plus_minus_value: float | None = measure(
        later("Its plus-minus"),
        kind="saponification_value",
        offered=("mg/g",),
        refuse=Range(0.0, 40.0, later("a certificate that leaves more than 40 mg/g open says nothing")),
        optional=True,
        help="When the certificate gives none, 1 % is assumed (common practice, no source).",
    )
    left_g: float | None = measure(
        later("Left in stock"),
        kind="mass",
        offered=("kg", "g", "lb", "oz"),
        us="lb",
        refuse=LOT_MASS,
        optional=True,
        help=NOT_DEDUCTED,
    )


@dataclass(frozen=True, kw_only=True)
class AlkaliLot:
    """A delivery of solid caustic, or a tank of premixed lye."""

    code: str = text(later("Lot code"), max_length=NAME_LENGTH)
    alkali: str = choice(later("Alkali"), options={"naoh": "Caustic soda (NaOH)", "koh": "Caustic potash (KOH)"})
    form: str = choice(later("Form"), options={"solid": "Solid (flake, pearl)", "premixed": "Premixed lye"})
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    assay_fraction: float | None = measure(
        later("Assay (total alkali)"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.5, 1.0, later("caustic below 50 % is a solution; enter it as premixed lye")),
        warn=Range(0.84, 1.0, later("an assay under 84 % is low even for caustic potash (food grade: at least 85 %)")),
        help="From the certificate. Caustic potash is often 85 to 92 %.",
        when=("form", "solid"),
    )
    strength_fraction: float | None = measure(
        later("Lye strength"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.05, 0.55, later("lye of bar soap is between 5 and 55 %")),
        help="Hydroxide by mass, as mixed or as titrated.",
        when=("form", "premixed"),
    )
    plus_minus_fraction: float = measure(
        later("Plus-minus of that"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 0.2, later("a plus-minus over 20 % leaves the strength unknown")),
        help="Percentage points. 0.5 when the certificate is silent (common practice, no source).",
    )
    carbonate_fraction: float | None = measure(
        later("Carbonate in it"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 0.2, later("over 20 % carbonate the lot is spoiled")),
        optional=True,
        help="Counts as alkali in an assay by titration but does not saponify. Leave empty if the "
        "certificate states hydroxide.",
    )
    left_g: float | None = measure(
        later("Left in stock"),
        kind="mass",
        offered=("kg", "g", "lb", "oz"),
        us="lb",
        refuse=LOT_MASS,
        optional=True,
        help=NOT_DEDUCTED,
    )


@dataclass(frozen=True, kw_only=True)
class FattyAcidShare:
    """One fatty acid of the maker's own oil."""

    acid: str = item(later("Fatty acid"), kind="fatty_acid")
    share_fraction: float = measure(
        later("Share"), kind="percent", offered=("%",), refuse=Range(0.0, 1.0, later("a share lies between 0 and 100 %"))
    )


@dataclass(frozen=True, kw_only=True)
class OwnOil:
    """An oil that the table lacks, entered by the maker."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    source: str = text(
        later("Where the values come from"), max_length=120, help="Certificate, supplier's sheet, book and page."
    )
    ester: str = choice(later("It is"), options={"triglyceride": "An oil, fat or butter", "wax": "A wax or liquid wax"})
    saponification_low_value: float = measure(
        later("Saponification value, lowest"),
        kind="saponification_value",
        offered=("mg/g",),
        refuse=SAPONIFICATION_VALUE,
        help="mg KOH per g. If you have one value only, enter it twice.",
    )
    saponification_high_value: float = measure(
        later("Saponification value, highest"), kind="saponification_value", offered=("mg/g",), refuse=SAPONIFICATION_VALUE
    )
    fatty_acids: tuple[FattyAcidShare, ...] = rows(
        later("Fatty acids (if you know them)"), of=FattyAcidShare, minimum=0, maximum=30, add_label="Add a fatty acid"
    )


@dataclass(frozen=True, kw_only=True)
class Analysed:
    """One constituent of a scent lot by its own papers."""

    constituent: str = item(later("Constituent"), kind="constituent")
    most_fraction: float = measure(
        later("At most"), kind="percent", offered=("%",), refuse=Range(0.0, 1.0, later("a share lies between 0 and 100 %"))
    )


@dataclass(frozen=True, kw_only=True)
class ScentLot:
    """A delivery of an essential oil or a fragrance oil; its papers stand above the tables."""

    code: str = text(later("Lot code"), max_length=NAME_LENGTH, help="Your own code, as written on the bottle.")
    material: str = choice(later("It is"), options={"fragrance": "A fragrance oil", "essential": "An essential oil"})
    essential_oil: str | None = item(later("Essential oil"), kind="essential_oil", when=("material", "essential"))
    name: str | None = text(later("Its name"), max_length=NAME_LENGTH, when=("material", "fragrance"))
    list_text: str | None = text(
        later("What its papers say is in it"),
        max_length=LIST_LENGTH,
        multiline=True,
        optional=True,
        help="Type or paste the supplier's list: a line each, a name or CAS number, then the per cent.",
    )
    eu_statement: str | None = choice(
        later("EU allergen statement"),
        options={"yes": later("Yes, and all that it names is entered here"), "no": later("No")},
        optional=True,
        help="Without it a label's list is incomplete.",
    )
    certificate_max_fraction: float | None = measure(
        later("IFRA certificate: most in a product of category 9"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 1.0, later("a certificate's limit lies between 0 and 100 %")),
        optional=True,
        help="Category 9 is soap that is rinsed off. 0 is “not for this use”. The lowest of certificate, tables and analysis holds.",
    )
    certificate_edition: str | None = text(
        later("IFRA certificate: its amendment"), max_length=NAME_LENGTH, optional=True, help="The number it names, such as 51."
    )
    eu_max_fraction: float | None = measure(
        later("EU law: most in soap, by the supplier"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.0, 1.0, later("a supplier's limit lies between 0 and 100 %")),
        optional=True,
        help="Only if its papers say so for EU law. 0 is “not for this use”.",
    )
    flash_point_c: float | None = measure(
        later("Flash point on the safety data sheet"),
        kind="temperature",
        offered=("degC", "degF"),
        us="degF",
        refuse=Range(0.0, 300.0, later("scents catch fire between about 20 and 200 °C")),
        optional=True,
    )
    supplier: str | None = text(later("Supplier and the supplier's lot"), max_length=NAME_LENGTH, optional=True)
    in_use: str = choice(later("In use now"), options={"yes": "Yes", "no": "No"})
    analysis: tuple[Analysed, ...] = rows(
        later("Or one by one: what it contains"),
        of=Analysed,
        minimum=0,
        maximum=120,
        add_label="Add a constituent",
        help="What is entered, here or as a list, replaces the table for this lot; the rest of the table stays.",
    )


@dataclass(frozen=True, kw_only=True)
class ScentPart:
    """One material of a scent."""

    material: str = item(later("Material"), kind="scent_material")
    share_fraction: float | None = measure(
        later("Share by mass"),
        kind="percent",
        offered=("%",),
        refuse=Range(0.000001, 1.0, later("none is no row, and no share is more than all")),
        optional=True,
    )
    drops: int | None = count(
        later("Drops"), refuse=Range(1, 100_000, later("a scent by drops has at least one drop of each")), optional=True
    )


@dataclass(frozen=True, kw_only=True)
class Scent:
    """A scent the workshop mixes again and again."""

    name: str = text(later("Name"), max_length=NAME_LENGTH)
    measured_by: str = choice(
        later("Its parts are told in"),
        options={"percent": "Per cent by mass", "drops": "Drops"},
        help="Drops differ in size from oil to oil: weigh where you can.",
    )
    parts: tuple[ScentPart, ...] = rows(later("Parts"), of=ScentPart, minimum=1, maximum=20, add_label="Add a material")


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody who works in the shop; an initial or first name is enough."""

    name: str = text(later("Name or initial"), max_length=NAME_LENGTH)


# kind -> (declaration, what one is called, what many are called); the order is that of the Workshop page
KINDS: dict[str, tuple[type, str, str]] = {
    "shop": (Shop, "Workshop", "Workshop"),
    "mould": (Mould, later("mould"), "Moulds"),
    "cutter": (Cutter, later("cutter"), "Cutters"),
    "vessel": (Vessel, later("vessel"), "Vessels"),
    "scale": (ScaleItem, later("scale"), "Scales"),
    "floor": (Floor, "work at the scale", "Work at the scale"),
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
