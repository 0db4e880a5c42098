"""Each figure of the safety pages against its source, and each shown sentence against the row its figure comes from."""

import re

import pytest

from calc.safety.cards import cards
from calc.tables.safety import every_statement, say, values

# What the source says, by the project's safety reference; "memory" where nobody has read the source itself.
AS_PUBLISHED = [
    # OSHA PEL 2 mg/m3, average of 8 h: 29 CFR 1910.1000 Table Z-1, on NIOSH's page on sodium hydroxide.
    ("naoh_pel", "2", "mg/m³"),
    # NIOSH REL and ACGIH: ceiling 2 mg/m3, on the same page; KOH: OSHA chemical sampling page (2004).
    ("naoh_ceiling", "2", "mg/m³"),
    ("koh_ceiling", "2", "mg/m³"),
    # NIOSH IDLH for sodium hydroxide, revision of 1994 (before that 250).
    ("naoh_idlh", "10", "mg/m³"),
    # ANSI/ISEA Z358.1-2009 as excerpted: eyewash 0.4 US gal/min (1.5 L/min), shower 20 US gal/min (75.7 L/min).
    ("eyewash_flow_gallons", "0.4", "gal/min"),
    ("eyewash_flow_litres", "1.5", "L/min"),
    ("shower_flow_gallons", "20", "gal/min"),
    ("shower_flow_litres", "75.7", "L/min"),
    # The same standard, eye and face wash, from memory: 3.0 US gal/min (11.4 L/min).
    ("facewash_flow_gallons", "3", "gal/min"),
    ("facewash_flow_litres", "11.4", "L/min"),
    # Z358.1 4.5.2: 10 seconds; tepid 60 to 100 °F (16 to 38 °C); 4.6.2 weekly; 4.6.5 every year.
    ("eyewash_reach_seconds", "10", "s"),
    ("tepid_low_f", "60", "°F"),
    ("tepid_high_f", "100", "°F"),
    ("tepid_low_c", "16", "°C"),
    ("tepid_high_c", "38", "°C"),
    ("eyewash_weekly_days", "7", "d"),
    ("eyewash_yearly_months", "12", "months"),
    # New Jersey fact sheet: at least 30 minutes; Z358.1 as a trade journal quotes it: 15 minutes.
    ("flush_minutes", "30", "min"),
    ("flush_other_minutes", "15", "min"),
    # A burns trust's first-aid page: 20 minutes of cool running water; a summary of guidelines: 5 to 20.
    ("cool_minutes", "20", "min"),
    ("cool_low_minutes", "5", "min"),
    # New Jersey fact sheet: medical watch of 24 to 48 hours after overexposure.
    ("watch_low_hours", "24", "h"),
    ("watch_high_hours", "48", "h"),
    # Anti-scald table and a children's hospital: 60 °C (140 °F) 3 s and 5 s; 55 °C (131 °F) 17 s and 30 s.
    ("scald_high_c", "60", "°C"),
    ("scald_high_f", "140", "°F"),
    ("scald_high_second_seconds", "3", "s"),
    ("scald_high_third_seconds", "5", "s"),
    ("scald_middle_c", "55", "°C"),
    ("scald_middle_f", "131", "°F"),
    ("scald_middle_second_seconds", "17", "s"),
    ("scald_middle_third_seconds", "30", "s"),
    # 40 CFR 261.22: aqueous, pH at most 2 or at least 12.5.
    ("waste_ph_low", "2", "pH"),
    ("waste_ph_high", "12.5", "pH"),
    # Euro Chlor on the classification of sodium hydroxide: 5 % severe burns, 0.5 % irritant.
    ("burn_band", "5", "%"),
    ("irritant_band", "0.5", "%"),
    # Producer's sheet on 50 % caustic soda: begins to crystallise at 12 to 15 °C.
    ("crystal_low_c", "12", "°C"),
    ("crystal_high_c", "15", "°C"),
    # NIOSH lifting equation, load constant 23 kg (51 lb), on a page of CCOHS.
    ("lift_kg", "23", "kg"),
    ("lift_lb", "51", "lb"),
    # 29 CFR 1910.242(b): below 30 psi.
    ("air_psi", "30", "psi"),
]


@pytest.mark.parametrize(("key", "value", "unit"), AS_PUBLISHED, ids=[key for key, _, _ in AS_PUBLISHED])
def test_a_figure_is_the_one_its_source_gives(key: str, value: str, unit: str) -> None:
    found = values()[key]
    assert (found.value, found.unit) == (value, unit)
    assert len(found.source) > 10


def test_fahrenheit_and_celsius_of_a_pair_agree() -> None:
    # Exact definition: °F = °C * 9/5 + 32; the published pairs are whole degrees.
    pairs = [(key, key.removesuffix("_c") + "_f") for key in values() if key.endswith("_c")]
    assert len(pairs) == 8
    for celsius, fahrenheit in pairs:
        exact = float(values()[celsius].value) * 9 / 5 + 32
        assert abs(exact - float(values()[fahrenheit].value)) <= 1.0, celsius


def test_litres_and_gallons_of_a_pair_agree() -> None:
    # 1 US gallon = 3.785411784 L exactly (NIST Handbook 44, Appendix C).
    for key in ("eyewash_flow", "shower_flow", "facewash_flow"):
        litres, gallons = (float(values()[f"{key}_{unit}"].value) for unit in ("litres", "gallons"))
        assert litres == pytest.approx(gallons * 3.785411784, abs=0.05)


def test_a_jug_of_strong_lye_weighs_more_than_the_most_for_a_lift() -> None:
    # 20 L at relative density 1.53 (producer's sheet, 50 %, 15.6 °C): 30.6 kg.
    assert float(values()["lye_jug_kg"].value) == pytest.approx(20 * 1.53)
    assert float(values()["lye_jug_kg"].value) > float(values()["lift_kg"].value)


def test_the_longer_of_the_published_times_counts() -> None:
    for card in cards():
        if card.key in ("eyes", "skin"):
            assert card.flush_minutes == max(30, 15)  # New Jersey fact sheet; ANSI/ISEA Z358.1
            assert any("30 minutes" in line.en and "30 minutos" in line.es for line in card.lines)


def test_each_shown_figure_is_its_row() -> None:
    for statement in every_statement():
        shown = sorted({values()[key].shown for key in statement.uses}, key=len, reverse=True)
        for text in (statement.en, statement.es):
            rest = text
            for figure in shown:
                assert figure in text, statement.key
                rest = rest.replace(figure, "")
            assert not re.search(r"\d", rest), statement.key


def test_every_figure_is_shown_somewhere() -> None:
    used = {key for statement in every_statement() for key in statement.uses}
    assert set(values()) - used == set()


def test_words_of_the_spanish_glossary_are_used() -> None:
    # Read in New Jersey's Spanish fact sheets and a Spanish safety data sheet (glossary of the safety reference).
    assert "con abundante agua" in say("eyes_rinse").es
    # Not "levantando los párpados", as read: a native speaker says that it falls short of holding them open.
    assert "los párpados con los dedos" in say("eyes_rinse").es
    assert "Retire las lentes de contacto" in say("eyes_lenses").es
    assert say("haz_burns").es == "Provoca graves quemaduras en la piel y lesiones oculares."
    assert "NO provoque el vómito" in say("swallow_not").es
    assert "hoja de datos de seguridad" in say("authority").es
