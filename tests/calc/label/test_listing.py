"""The order of the list, its names, words that change the class, dates, and where all of it stands."""

from dataclasses import replace
from datetime import date

import pytest

from calc.label.claims import looked_through, standing
from calc.label.composition import Ingredient
from calc.label.dates import best_before
from calc.label.layout import CAPITALS, Content, Heights, filled, laid_out, net_is_low, sheet_of
from calc.label.lettering import width, wrapped
from calc.label.listing import listing
from calc.label.names import Confirmed, Name, name_of


def as_key(each: Ingredient) -> Name:
    return Name(each.key, "read", each.key)


def test_by_weight_down_to_one_per_cent_and_colors_last() -> None:
    # 21 CFR 701.3(a), (f): descending predominance; one per cent or less in any order; colors in any order at the end.
    found = listing(
        "added",
        [Ingredient("clay", "extra", "Clay", 9.0), Ingredient("colour", "extra", "Color", 60.0), Ingredient("oil", "raw", "Oil", 600.0),
         Ingredient("water", "raw", "", 300.0), Ingredient("oil", "raw", "Oil", 31.0)],
        as_key, {"Linalool": 0.0004, "Limonene": None},
    )  # fmt: skip
    assert [each.name.text for each in found.entries] == ["oil", "water", "clay", "Linalool", "Limonene", "colour"]
    assert found.one_percent_from == 2
    assert found.text == "oil, water, clay, Linalool, Limonene, colour"


def test_one_name_has_one_place() -> None:
    palm = [Ingredient("palm", "sodium_salt", "Palm oil", 30.0), Ingredient("palm_stearin", "sodium_salt", "Palm stearin", 40.0), Ingredient("olive", "sodium_salt", "Olive oil", 60.0)]
    found = listing("bar", palm, lambda each: name_of(each, "eu", "f", {}), {})
    assert [each.name.text for each in found.entries] == ["Sodium Palmate", "Sodium Olivate"]


def test_a_name_that_was_only_recalled_is_asked_about_until_somebody_confirms_it() -> None:
    rice = Ingredient("rice_bran", "sodium_salt", "Rice bran oil", 1.0)
    asked = name_of(rice, "eu", "f", {})
    assert (asked.text, asked.how, asked.sure) == ("Sodium Rice Branate", "memory", False)
    told = name_of(rice, "eu", "f", {asked.event: Confirmed("Sodium Rice Branate", "Q")})
    assert told.sure and told.by == "Q"
    # Read in the inventory: nobody is asked.
    assert name_of(Ingredient("olive", "sodium_salt", "", 1.0), "eu", "f", {}).sure


def test_what_the_table_has_no_name_of_is_the_makers_to_name() -> None:
    # The inventory read has no sodium salt of walnut oil.
    asked = name_of(Ingredient("walnut", "sodium_salt", "Walnut oil", 1.0), "eu", "f", {})
    assert (asked.text, asked.how) == ("Walnut oil", "missing")
    clay = name_of(Ingredient("clay", "extra", "Clay", 1.0), "us", "f-1", {})
    assert clay.how == "missing" and "Kaolin" in clay.offered
    # What one formula's clay is says nothing of another's.
    assert clay.event != name_of(Ingredient("clay", "extra", "Clay", 1.0), "us", "f-2", {}).event


@pytest.mark.parametrize(("style", "water", "olive"), [("eu", "Aqua", "Olea Europaea Fruit Oil"), ("us", "Water", "Olea Europaea (Olive) Fruit Oil"), ("both", "Aqua (Water)", "Olea Europaea (Olive) Fruit Oil")])
def test_names_by_market(style: str, water: str, olive: str) -> None:
    found = [name_of(Ingredient(key, "raw", "", 1.0), style, "f", {}).text for key in ("water", "olive")]
    assert found == [water, olive]


# The words that the reference lists: moisturise and deodorant make a cosmetic; heal, acne, eczema, antibacterial a drug.
@pytest.mark.parametrize(
    ("words", "us"),
    [("Plain and good", "soap"), ("Moisturizing bar", "cosmetic"), ("A deodorant soap", "cosmetic"), ("Clears ACNE", "drug"),
     ("For eczema", "drug"), ("It heals", "drug"), ("Antibacterial", "drug"), ("Kills germs", "drug"), ("Cured for six weeks", "soap"),
     ("A moisture-rich bar", "cosmetic"), ("Good for dry skin", "cosmetic"), ("Para piel seca", "cosmetic"), ("Dry it well", "soap"),
     ("Jabón hidratante", "cosmetic"), ("Cura el acné", "drug")],
)  # fmt: skip
def test_words_that_change_what_it_is(words: str, us: str) -> None:
    assert standing("Bar soap", [words], 0.84).us == us


def test_true_soap_is_called_soap_and_is_mostly_soap() -> None:
    # 21 CFR 701.20(a)
    assert standing("Bar soap", [], 0.51).us == "soap"
    assert standing("Cleansing bar", [], 0.84).us == "cosmetic"
    assert standing("Bar soap", [], 0.49).us == "cosmetic"
    assert [each.makes for each in looked_through(["organic"])] == ["proof"]


def test_best_before_up_to_thirty_months() -> None:
    # Regulation (EC) 1223/2009, Article 19(1)(c): durability of 30 months or less is a date, more is the open jar.
    assert best_before(date(2026, 12, 1), 30) == (5, 2029)
    assert best_before(date(2026, 12, 1), 31) is None
    assert best_before(date(2026, 1, 15), 12) == (12, 2026)


CONTENT = Content("Reed Lavender", "Bar soap", "", "NET WT 4.4 oz (125 g)", ("Ingredients: Water, Sodium Olivate, Glycerin.", "Batch QM-1"), ((True, False), (False, True)))


def test_the_net_weight_stands_in_the_foot_of_the_front_with_room_around_it() -> None:
    heights = Heights(3.175, 0.0, 0.8)
    (face,) = laid_out(CONTENT, heights, 90.0, 70.0, two=False)
    assert face.fits and net_is_low(face, 0.3)
    net = [line for line in face.lines if line.role == "net"]
    assert " ".join(line.text for line in sorted(net, key=lambda line: line.y_mm)) == CONTENT.net
    size = net[0].size_mm
    # Free below by its own height, at each side by twice the width of an N.
    assert face.height_mm - max(line.y_mm for line in net) >= CAPITALS * size - 1e-9
    for line in net:
        assert line.x_mm - width(line.text, size, bold=True) / 2 >= 2 * width("N", size, bold=True) - 1e-9
    # Small letters of an eighth of an inch: the face's are 0.496 of its size.
    assert size * 0.496 >= 3.175 - 1e-9
    above = max(line.y_mm for line in face.lines if line.role == "small")
    assert min(line.y_mm for line in net) - CAPITALS * size - above >= CAPITALS * size - 1e-9


def test_the_sign_stands_behind_the_weight_in_one_view_with_it_and_leaves_its_room_free() -> None:
    # Told second-hand of Directives 76/211/EEC and 2009/34/EC: in the same field of view as the weight, 3 mm high at least.
    signed = replace(CONTENT, net="125 g", estimated=True)
    for heights in (Heights(0.0, 2.0, 0.8), Heights(3.175, 6.0, 0.8)):
        for two in (False, True):
            front, *back = laid_out(signed, heights, 90.0, 70.0, two=two)
            assert front.estimated is not None and not any(face.estimated for face in back)
            (net,) = [line for line in front.lines if line.role == "net"]
            end = net.x_mm + width(net.text, net.size_mm, bold=True) / 2
            assert front.estimated.x_mm - end >= 2 * width("N", net.size_mm, bold=True) - 1e-9
            assert front.estimated.height_mm >= 3.0 and front.estimated.y_mm + front.estimated.height_mm == pytest.approx(net.y_mm)
            right = front.square.x_mm if front.square else front.width_mm
            assert front.estimated.x_mm + front.estimated.height_mm <= right
    (without,) = laid_out(CONTENT, Heights(3.175, 0.0, 0.8), 90.0, 70.0, two=False)
    assert without.estimated is None


def test_what_does_not_fit_says_how_high_it_has_to_be() -> None:
    heights = Heights(3.175, 3.0, 1.5875)
    long = Content("Name", "Bar soap", "", "NET WT 4.4 oz (125 g)", ("Ingredients: " + "Sodium Sunflowerseedate, " * 20,))
    (face,) = laid_out(long, heights, 60.0, 40.0, two=False)
    assert not face.fits
    (higher,) = laid_out(long, heights, 60.0, face.needed_mm, two=False)
    assert higher.fits
    front, back = laid_out(long, heights, 60.0, 60.0, two=True)
    assert {line.role for line in front.lines} == {"head", "net"} and {line.role for line in back.lines} == {"small"}


def test_no_line_is_wider_than_its_room_and_no_word_is_lost() -> None:
    text = "Ingredients: Sodium Olivate, Sodium Cocoate, Elaeis Guineensis (Palm) Oil, Aqua (Water), Glycerin."
    lines = list(wrapped(text, 2.0, 40.0))
    assert " ".join(lines) == text
    assert all(width(line, 2.0) <= 40.0 for line in lines)
    assert "".join(wrapped("Unbreakable" * 9, 3.0, 20.0)) == "Unbreakable" * 9


# Worked by hand: Letter is 215.9 x 279.4 mm, A4 210 x 297; 8 mm edges, 3 mm between, 10 mm for the ruler.
@pytest.mark.parametrize(("paper", "wide", "high", "count"), [("letter", 90.0, 70.0, 6), ("a4", 90.0, 70.0, 6), ("letter", 60.0, 40.0, 15), ("a4", 50.0, 25.0, 27), ("letter", 210.0, 40.0, 0)])
def test_as_many_as_go_on_a_sheet(paper: str, wide: float, high: float, count: int) -> None:
    sheet = sheet_of(paper, wide, high)
    assert len(sheet.places) == count
    for x, y in sheet.places:
        assert x >= 8.0 and y >= 8.0 and x + wide <= sheet.width_mm - 8.0 + 1e-6 and y + high <= sheet.height_mm - 18.0 + 1e-6


def test_each_front_has_its_back_on_the_same_sheet() -> None:
    faces = laid_out(CONTENT, Heights(1.6, 0.0, 0.8), 60.0, 80.0, two=True)
    for places in filled(faces, sheet_of("letter", 60.0, 80.0), 2):
        sides = [side for _, _, side in places]
        assert sides.count(0) == sides.count(1) > 0
