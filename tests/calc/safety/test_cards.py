"""The Emergency card: what comes first on it, and how well its figures are known."""

from calc.safety import cards
from calc.tables import safety as tables


def test_cards_begin_with_the_first_move_and_water_comes_before_the_phone() -> None:
    by_key = {card.key: card for card in cards.cards()}
    assert list(by_key) == ["eyes", "skin", "burn", "breathing", "swallowed", "fire", "trapped", "shock", "spill"]
    assert "Rinse NOW" in by_key["eyes"].lines[0].en and "YA" in by_key["eyes"].lines[0].es
    for card in by_key.values():
        assert not card.lines[0].en.endswith("?"), "no question stands in front of the first move"
    for key in ("eyes", "skin"):
        lines = [line.en for line in by_key[key].lines]
        rinse = next(index for index, line in enumerate(lines) if "rins" in line.lower() or "water runs" in line)
        call = next(index for index, line in enumerate(lines) if "calls emergency" in line or "medical help." in line)
        assert rinse < call
        assert by_key[key].flush_source is not None
    assert by_key["fire"].flush_minutes is None
    # Burning oil and water: what must not be done is as urgent as what must, and the head of the card speaks of water.
    assert any(line.en.startswith("NO water") for line in by_key["fire"].lines[: by_key["fire"].first])
    assert "on a person" in tables.say("water_first").en and "en una persona" in tables.say("water_first").es


def test_a_figure_in_a_first_aid_line_is_read_or_the_line_says_otherwise() -> None:
    figures = tables.values()
    for card in cards.cards():
        for line in card.lines:
            assert all(figures[key].how == "read" or line.how == figures[key].how for key in line.uses), line.key


def test_who_got_a_shock_is_not_touched_and_a_burn_is_cooled_with_nothing_on_it():
    by_key = {card.key: card for card in cards.cards()}
    # An electricity utility's and a hospital group's pages: do not touch, switch off, then the call; to a doctor in every case.
    shock = [line.en for line in by_key["shock"].lines]
    assert shock[0].startswith("Do NOT touch") and by_key["shock"].first == 1
    assert "Call emergency services at once." in shock and "To a doctor even if" in shock[-1]
    # A burns trust: 20 minutes of cool running water, no ice, creams or oil. Not the time for caustic, nor the workshop's own.
    burn = by_key["burn"]
    assert (burn.first, burn.flush_minutes, burn.timed) == (1, 20, "cool")
    assert "20 minutes under cool running water" in burn.lines[0].en and "20 minutos bajo agua corriente fresca" in burn.lines[0].es
    assert any("No ice, no butter, no cream" in line.en for line in burn.lines)
    # A poison centre on essential oils: water for the eyes; what is swallowed can get into the lungs, so the call does not wait.
    assert any("essential oil" in line.en for line in by_key["eyes"].lines)
    assert any("essential oil" in line.en and "Don't wait for a cough" in line.en for line in by_key["swallowed"].lines)
