"""Words that can hurt: the order in which a machine is made safe, who is called and how, and Spanish that says another thing.

Looked at is all that is said: the safety pages in both languages, the catalogue, the English of the code, the workshop's form.
"""

import re
from pathlib import Path

import pytest

from calc.entry.declare import describe
from calc.tables.safety import every_statement, say
from calc.workshop.safety_place import SafetyPlace
from pages import catalogues

TEMPLATES = [*Path(catalogues.ROOT, "site").rglob("templates/*.html")]


def said() -> list[tuple[str, str, str]]:
    """Everything that is said as key, English and Spanish; of what stands in one language only the other is empty."""
    found = [(each.key, each.en, each.es) for each in every_statement()]
    for message in catalogues.catalogue("es"):
        ids, texts = (each if isinstance(each, tuple) else (each,) for each in (message.id, message.string))
        found += [(english, english, spanish) for english, spanish in zip(ids, texts, strict=True) if english]
    found += [(info.name, f"{info.label} {info.help}", "") for info in describe(SafetyPlace)]
    return found + [(path.name, "", path.read_text(encoding="utf-8")) for path in TEMPLATES]


# 29 CFR 1910.147(d): (2) shut down and (3) cut off from its energy, (4) lock and tag, (5) stored energy relieved or restrained,
# (6) verified, and only then work. That what can fall is blocked before air is bled is the shop's own, within (5): bleeding moves it.
ORDER = {
    "en": (r"valve shut|shut (off )?the air|air off", r"\block\b", r"\btag\b", r"\bblock\b", r"\bbleed\b", r"try to start",
           r"reach in|change the wire|mends? it"),
    "es": (r"cerrar la llave|cierre la llave", r"candado", r"etiqueta", r"bloque(ar|e)", r"purg(ar|ue)", r"(probar|pruebe) el arranque",
           r"meter la mano|cambie el alambre|la repara"),
}  # fmt: skip
WHOLE = ("cut_jam_answer", "cut_wires_no", "cut_air_no")


def places(text: str, language: str) -> list[int]:
    return [found.start() if (found := re.search(each, text, re.IGNORECASE)) else -1 for each in ORDER[language]]


@pytest.mark.parametrize("language", ORDER)
def test_a_machine_is_shut_off_locked_tagged_blocked_bled_and_tried_before_a_hand_goes_in(language):
    for key in WHOLE:
        found = places(say(key).en if language == "en" else say(key).es, language)
        assert -1 not in found and found == sorted(found), (key, found)
    asked = places(say("cut_jam_ask").en if language == "en" else say("cut_jam_ask").es, language)
    assert -1 not in asked[:-1] and asked[:-1] == sorted(asked[:-1])


@pytest.mark.parametrize("language", ORDER)
def test_wherever_air_is_bled_it_is_locked_and_blocked_first_or_the_words_forbid_it(language):
    """Also in what is added later, on any page."""
    bled = forbidden = 0
    for key, english, spanish in said():
        text = english if language == "en" else spanish
        lock, block, bleed = (places(text, language)[step] for step in (1, 3, 4))
        if bleed < 0 or key.startswith("trap_"):
            continue
        if re.search(r"\b(not|no) (bleed|purgu?e)", text, re.IGNORECASE):
            forbidden += 1
        else:
            bled += 1
            assert 0 <= lock < block < bleed, (key, text)
    assert bled >= 4


def test_a_trapped_hand_is_not_freed_by_bleeding_the_air():
    """Workshop practice: venting can move the frame onto the hand. Unplugging alone leaves the air on."""
    first = say("trap_stop")
    for text, parts in ((first.en, ("stop button", "unplug it", "air valve shut", "Do NOT bleed")),
                        (first.es, ("botón de paro", "desenchufe", "cierre el aire", "NO purgue"))):  # fmt: skip
        found = [text.find(part) for part in parts]
        assert -1 not in found and found == sorted(found), text


def test_a_wire_is_changed_nowhere_before_the_machine_was_tried():
    for key, english, spanish in said():
        for text, wire, tried in ((english, r"change the wire", "try to start"), (spanish, r"cambie el alambre", "arranque")):
            found = re.search(wire, text, re.IGNORECASE)
            assert not found or 0 <= text.find(tried) < found.start(), key


def test_nobody_is_told_to_call_an_emergency_number_to_try_it():
    """A county's page on its emergency number: never make a test call; 911.gov: calls that are no emergency overload it."""
    tried = re.compile(
        r"(ring|call|dial)( it| the number)? (once|to (try|test|check|be sure))|test[- ]call|"
        r"(llame|marque)( una vez| para (probar|ver|comprobar))|llamada de prueba",
        re.IGNORECASE,
    )
    for key, english, spanish in said():
        for text in (english, spanish):
            for found in tried.finditer(text):
                assert re.search(r"(never|nunca|no) $", text[: found.start()], re.IGNORECASE), (key, text)
    number = next(info for info in describe(SafetyPlace) if info.name == "emergency_number")
    assert "Never call it" in number.help and "authority" in number.help


# By a native speaker's list of what was wrong or dangerous.
NEVER = {
    # On a label it says "shake": shaken lye bursts out of its jug. An "agitador" is the machine, no order.
    "agitar for stirring": r"\bagit(?!ador)",
    # "Rinse" or "lighten".
    "aclarar for becoming clear": r"\baclar(e|ar|ando)\b(?! (lo|el|qué))",
    # An arrest, and custody at a border.
    "detención for a stop": r"detenci|\bdetenid[oa]s?\b(?! hasta)",
    # Sunglasses, where most readers live.
    "gafas alone": r"\bgafas\b(?! de seguridad cerradas)",
    "another word for lye": r"soluci[oó]n(es)? (de (sosa|potasa) )?cáustic",
}


@pytest.mark.parametrize("what", NEVER)
def test_the_spanish_never_says(what):
    wrong = [(key, spanish) for key, _, spanish in said() if re.search(NEVER[what], spanish, re.IGNORECASE)]
    # A walk that was stopped goes on being stopped until somebody clears it: of a walk, not of a person.
    assert [each for each in wrong if each[0] not in ("page_put_right_first",)] == []


def test_lye_is_one_term_in_spanish():
    """Lye is a solution: "solución de sosa", "de potasa" where it is; what is free of reaction is alkali, not lye."""
    for key, english, spanish in said():
        if not spanish or not re.search(r"\blye\b", english, re.IGNORECASE):
            continue
        if re.search(r"free lye|lye discount|water to lye|the lye is either undissolved", english, re.IGNORECASE):
            assert re.search(r"álcali|libre", spanish), key
        else:
            assert re.search(r"soluci[oó]n(es)? de (sosa|potasa)|SOLUCIÓN DE HIDRÓXIDO", spanish, re.IGNORECASE), (key, spanish)


def test_stirring_is_said_in_spanish_where_it_is_in_english():
    """The other half of what may not be said: what was taken out did not go missing."""
    stirring = re.compile(r"\bstir(?!rer)", re.IGNORECASE)
    for key, english, spanish in said():
        if spanish and stirring.search(english):
            assert re.search(r"revuel|revolv|mezcl", spanish, re.IGNORECASE), (key, spanish)
