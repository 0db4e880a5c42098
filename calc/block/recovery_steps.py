"""Steps that a recovery puts in or changes, as the plain values that are stored with the decision."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from calc.block.chemistry import NEAR_FRACTION, Block
from calc.block.events import Done
from calc.entry.language import tr
from calc.entry.problems import InputProblems
from calc.entry.units import show_unit
from calc.scales.display import Display, display_of
from calc.scales.weighing import ALLOWED_MAIN, ALLOWED_SMALL, JUG_ROOM, Scale, choose_scale, minimum_load_g
from calc.steps.frozen import (
    AskedBack,
    Step,
    Weighing,
    display_of_step,
    frozen,
    gross,
    gross_before,
    is_at_trace,
    is_rounded_down,
    kind_of,
    scent_of,
    target_g,
    weighing,
    with_gross,
)
from calc.steps.keys import AGAIN, INTO_MOULD, MADE, OIL_BLEND, ON, OUT, added, began_with, is_first_pour, is_top_up
from calc.steps.pour_names import pour_name, short, within
from calc.steps.step import Band, OnScale, ReadOn, Said, Weighed, confirm, going_on, tared, weigh
from calc.steps.words import done_so, going_on_from, in_each_language, in_words


def lye_words() -> str:
    """What is worn at lye, and who has the last word."""
    return tr("Goggles, face shield and gloves on. If the supplier's safety data sheet asks for more, do more.")


def named(block: Block, key: str) -> str:
    """A pour inside a sentence: "olive oil", "caustic soda (NaOH) lye", "the oil blend"."""
    if key == OIL_BLEND:
        return tr("the oil blend")
    pour = block.pours[key]
    return within(short(pour["name"]), scent_of(pour), [each["name"] for each in block.pours.values()])


def extra_step(block: Block, pour: str, mass_g: float) -> tuple[Weighing, float] | None:
    """A step that adds so much of a pour or of the blend, and the grams the display can show of it; None when none.

    It is weighed into the vessel, or apart where the vessel's scale is too coarse for it.
    """
    down = _down(block, pour)
    try:
        choice = choose_scale(
            [scale for scale, _ in block.scales.values()],
            mass_g,
            in_vessel=True,
            allowed_error_fraction=ALLOWED_SMALL,
            already_on_g=block.on_scale_g,
            down=down,
        )
    except InputProblems:
        return None
    on = _read_on(choice.scale)
    added_g = on.display.grams(on.display.counts_of(mass_g, down=down))
    if added_g == 0.0:
        return None
    return in_each_language(lambda: _extra(block, pour, on, added_g, apart=choice.apart)), added_g


def _down(block: Block, pour: str | None) -> bool:
    """Whether a pour is rounded down: alkali."""
    return pour in block.alkalis and is_rounded_down(block.pours[pour])


def _read_on(scale: Scale) -> ReadOn:
    return ReadOn(scale.name, scale.display, scale.capacity_g)


def _extra(block: Block, pour: str, on: ReadOn, mass_g: float, *, apart: bool) -> Weighing:
    if apart:
        how = tr("Weigh it separately on {scale}, jug tared. Then pour all of it into the vessel and stir.", scale=on.scale)
    elif block.tares:
        how = tr("{tare} Pour it in, then read.", tare=tared(on.display))
    else:
        how = tr("Then read.")
    of_one, lye = None if pour == OIL_BLEND else pour, pour in block.alkalis
    wear = lye_words() if lye else _wear(block)
    said = Said(
        title=tr("Add {pour}", pour=named(block, pour)),
        how=f"{wear} {how}",
        next=tr("Pour it all in; let the jug drain.") if apart else None,
    )
    if not (apart or block.tares):
        said = going_on(replace(said, how=how), on.display.said(on.display.counts(planned_on_g(block))), wear)
    what = Weighed(
        grams=mass_g,
        pour=of_one,
        kind="oil" if of_one is None else kind_of(block.pours[of_one]),
        lot=None if of_one is None else block.pours[of_one]["lot"],
        twice=lye,
        others=_others(block, on.display, pour),
    )
    band = Band(allowed_g=ALLOWED_SMALL * mass_g)
    into = None if apart else _on_scale(block, planned_on_g(block))
    return weighing(frozen(weigh(added(pour, len(block.events.events)), said, what, on, band, into)))


def _on_scale(block: Block, stands_g: float, runs_on_g: float | None = None) -> OnScale:
    """The vessel on its scale [g by plan]. Where tare should be pressed and was not, all that is truly on it shows."""
    untared_g = (block.on_scale_g,) if block.tares else ()
    return OnScale(grams=stands_g, tared=block.tares, untared_g=untared_g, runs_on_g=runs_on_g)


def planned_on_g(block: Block) -> float:
    """What the page expects on the vessel's scale before a step that is put in now [g].

    Where nobody tares, the page itself moves a planned figure by as much as the last reading missed its plan.
    """
    if block.tares:
        return block.on_scale_g
    for done in reversed(block.events.weighings()):
        step = weighing(done.step)
        planned = gross(step)
        if done.event.get("mode") == "gross" and planned is not None:
            return block.on_scale_g - done.reading_g + display_of_step(step).grams(planned)
    return block.on_scale_g


def with_target(block: Block, step: Weighing, mass_g: float) -> Step:
    """A step still to come with another target [g of all that its display shows]. With nothing to weigh, it says so."""
    there = block.there(step)
    if not _worth_weighing(block, step, mass_g - (0.0 if there is None else there.g)):
        return in_each_language(lambda: _no_more(block, step))
    return in_each_language(lambda: _with_target(block, in_words(step), mass_g))


def _no_more(block: Block, step: Weighing) -> Step:
    title = tr("No more {pour}", pour=named(block, step["pour"] or OIL_BLEND))
    how = tr("Nothing gets poured here: what's in the vessel is enough. Keep the rest closed and labeled.")
    return frozen(confirm(step["key"], title, how))


def _with_target(block: Block, step: Weighing, mass_g: float) -> Weighing:
    """The same on the same display. A jug too heavy for its scale goes on a scale that holds it."""
    on = ReadOn(step["scale"], display_of_step(step), _scale(block, step).capacity_g)
    how, around = step["how"], step.get("how_around")
    into = _into_same(block, step)
    if into is None and JUG_ROOM * mass_g > on.capacity_g:
        on = _read_on(_holding(block, mass_g))
        how = tr("Weigh it out into a dry jug on {scale}, jug tared. Then pour all of it into the vessel.", scale=on.scale)
        around = None
    what = Weighed(
        grams=mass_g,
        pour=step["pour"],
        kind="oil" if step["pour"] is None else kind_of(block.pours[step["pour"]]),
        lot=step["lot"],
        down=_down(block, step["pour"]),
        twice=step["twice"],
        others=_others(block, on.display, step["pour"]),
    )
    said = Said(title=step["title"], how=how, around=around, stop=step["stop"], next=step["next"])
    made = weighing(frozen(weigh(step["key"], said, what, on, Band(allowed_g=_allowed_g(block, step, mass_g)), into)))
    found: Weighing = {**made, "fine": step["fine"]}
    there = block.there(step)
    return found if there is None else _goes_on(found, on.display.counts(there.g))


def _into_same(block: Block, step: Weighing) -> OnScale | None:
    """What stands on the vessel's scale before a step, by plan; None for one that is weighed apart."""
    display, planned = display_of_step(step), gross_before(step)
    if planned is None:
        return None
    closed = step["close_valve"]
    return _on_scale(block, display.grams(planned), None if closed is None else display.grams(step["target"] - closed))


def _allowed_g(block: Block, step: Weighing, mass_g: float) -> float:
    """How far another target may be missed [g]: the same share as by plan; for a first pour as far as before."""
    if is_first_pour(step["key"]):
        return display_of_step(step).grams(step["high"] - step["target"])
    small = is_top_up(step["key"]) or (step["pour"] is not None and is_at_trace(block.pours[step["pour"]]))
    return (ALLOWED_SMALL if small else ALLOWED_MAIN) * mass_g


def _scale(block: Block, step: Weighing) -> Scale:
    return block.scales[step["scale"]][0]


def _holding(block: Block, mass_g: float) -> Scale:
    """The finest scale that holds so much with its jug; the largest where none does."""
    scales = [scale for scale, _ in block.scales.values()]
    holding = [scale for scale in scales if JUG_ROOM * mass_g <= scale.capacity_g]
    if holding:
        return min(holding, key=lambda scale: (scale.division_g, scale.capacity_g))
    return max(scales, key=lambda scale: scale.capacity_g)


def _worth_weighing(block: Block, step: Weighing, mass_g: float) -> bool:
    """Whether there is enough to pour. Lye too little for its scale is left out where the superfat doesn't show it."""
    if display_of_step(step).counts_of(mass_g, down=_down(block, step["pour"])) <= 0:
        return False
    if step["pour"] not in block.alkalis or mass_g >= minimum_load_g(_scale(block, step)):
        return True
    return block.koh_per_g(step["pour"]) * mass_g >= NEAR_FRACTION * block.demand_koh_g(block.at_end())


def pour_on_step(block: Block, done: Done) -> Step | None:
    """A pour into the vessel that came short, on to its target. Its reading is of both pours and replaces the first.

    None when nothing worth weighing is missing.
    """
    step = weighing(done.step)
    asked, display, there_g = done.event["asked"], display_of_step(step), block.net[step["key"]].g
    # Where nobody tares, the reading and what was asked also hold what was in the vessel before.
    meant_g = display.grams(asked["target"]) - (done.reading_g - there_g)
    if not _worth_weighing(block, step, meant_g - there_g):
        return None
    target = _meant(block, step, meant_g)
    return in_each_language(lambda: _pour_on(block, done, in_words(target), display.counts(there_g)))


def _meant(block: Block, step: Weighing, mass_g: float) -> Weighing:
    """A weighed step with the target truly asked for [g]: it may have been moved since the step was frozen."""
    if display_of_step(step).counts(mass_g) == step["target"]:
        return step
    return in_each_language(lambda: _with_target(block, in_words(step), mass_g))


def _pour_on(block: Block, done: Done, step: Weighing, there: int) -> Weighing:
    how = tr(
        "Don't press tare: the display goes on from {before}. Pour until it's in the band, let it drain, then read.",
        before=f"{done.reading} {show_unit(step['unit'])}",
    )
    found: Weighing = {
        **step,
        "key": f"{ON}{done.step['key']}",
        "title": tr("Keep pouring: {pour}", pour=named(block, step["pour"] or OIL_BLEND)),
        "how": f"{how} {lye_words()}" if step["pour"] in block.alkalis else how,
        "how_around": None,
    }
    return _goes_on(found, there)


def _goes_on(step: Weighing, there: int) -> Weighing:
    """The step with a question for a display that shows less than it did before [counts]."""
    less: AskedBack = {
        "code": "less-than-before",
        "low": 0,
        "high": min(there, step["low"]) - 1,
        "text": tr(
            "That's less than before this pour. Was tare pressed? Then add this to what it showed before, and type the sum."
        ),
    }
    if less["high"] < 0:
        return step
    kept = [question for question in step["questions"] if question["code"] not in ("nothing-poured", less["code"])]
    return {**step, "questions": [less, *kept]}


def ladle_step(block: Block, done: Done) -> Step | None:
    """What was poured too much, ladled back out on the same display. Its reading is of what stays in.

    None when nothing was meant to stay.
    """
    step = weighing(done.step)
    display, there_g = display_of_step(step), block.shown_g[step["key"]]
    meant_g = display.grams(done.event["asked"]["target"]) - (done.reading_g - there_g)
    if display.counts(meant_g) <= 0:
        return None
    target = _meant(block, step, meant_g)
    return in_each_language(lambda: _ladled(block, done, in_words(target), display.counts(there_g)))


def _ladled(block: Block, done: Done, step: Weighing, there: int) -> Weighing:
    before = f"{done.reading} {show_unit(step['unit'])}"
    if len(block.in_vessel) == 1:
        how = tr(
            "Don't press tare: the display goes on from {before}. Ladle into a dry pail until the display is in the band. "
            "Slowly: hot oil burns, and spills are slippery.",
            before=before,
        )
    else:
        how = tr(
            "Don't press tare: the display goes on from {before}. Stir first, then ladle into a dry pail until the display is in the band. "
            "Slowly: hot oil burns, and spills are slippery.",
            before=before,
        )
    display = display_of_step(step)
    above = max(there, step["high"]) + display.division
    most = max(above, display.counts(_scale(block, step).capacity_g))
    more: AskedBack = {
        "code": "more-than-before",
        "low": above,
        "high": most,
        "text": tr("That's more than before you ladled. Type what the display shows now."),
    }
    kept = [asked for asked in step["questions"] if asked["code"] not in ("nothing-poured", "not-tared", "less-than-before")]
    return {
        **step,
        "key": f"{OUT}{done.step['key']}",
        "title": tr("Ladle back: {pour}", pour=named(block, ladled_pour(block, step))),
        "how": f"{how} {_wear(block)}",
        "how_around": None,
        "next": tr("Label the pail “ladled out, not for the tank”."),
        "pour": None,
        "pour_kind": "oil",
        "lot": None,
        "close_valve": None,
        "close_valve_text": None,
        "fine": None,
        "questions": [more, *kept],
    }


def ladled_pour(block: Block, step: Step) -> str:
    """The pour that a step is about; when ladling back, the one that was poured too much."""
    key = began_with(step["key"])
    return next((each["pour"] for each in block.events.steps if each["key"] == key), None) or OIL_BLEND


def _wear(block: Block) -> str:
    """Which protection stays on, and why once lye is in."""
    if any(key in block.alkalis for key in block.in_vessel):
        return tr("The batter is corrosive: gloves and goggles stay on.")
    return tr("Gloves and goggles stay on.")


def changed_targets(block: Block, targets: Mapping[str, float]) -> dict[str, Step]:
    """The steps whose target changes on their display, when they are to add these masses [g]."""
    found: dict[str, Step] = {}
    for step in block.undone():
        if step["key"] in targets:
            there = block.there(step)
            whole_g = targets[step["key"]] + (0.0 if there is None else there.g)
            if display_of_step(step).counts_of(whole_g, down=_down(block, step["pour"])) != step["target"]:
                found[step["key"]] = with_target(block, step, whole_g)
    return found


def again_step(step: Weighing) -> Weighing:
    """The same pour put right and weighed once more. Its reading replaces the other."""

    def again() -> Weighing:
        how = tr("Add or take out until the display is in the band. Put nothing back that has touched anything else.")
        return {**in_words(step), "key": AGAIN + step["key"], "how": how}

    return in_each_language(again)


def into_mould(block: Block, aside_text: str) -> dict[str, Step]:
    """The pour into the mould, which says how much to keep out; or as issued, once all of it fits again."""
    step = next((step for step in block.record["steps"] if step["key"] == INTO_MOULD), None)
    if step is None or step["key"] in block.events.done:
        return {}
    if not aside_text:
        return {} if step in block.events.steps else {INTO_MOULD: step}
    return {INTO_MOULD: in_each_language(lambda: done_so(step, _keep_out(aside_text)))}


def _keep_out(aside_text: str) -> str:
    return tr(
        "It won't all fit: keep about {aside} out, in a second mold. Mix first, so both get the same batter. It's corrosive: "
        "gloves and goggles stay on. Close that mold, write batch, block and “corrosive” on it, and keep it away from others. "
        "Scrape out the vessel.",
        aside=aside_text,
    )


def shifted(block: Block, added_g: float, after: str, replaced: Mapping[str, Step]) -> dict[str, Step]:
    """In a shop that never tares: steps to come, moved up by what is added before them [g]. Else as they are."""
    found = dict(replaced)
    if block.tares:
        return found
    moved_g, passed = added_g, False
    for old in block.events.steps:
        passed = passed or old["key"] == after
        if not passed or old["kind"] != "weigh" or old["key"] in block.events.done:
            continue
        new, planned = found.get(old["key"], old), gross_before(old)
        if planned is not None and new["kind"] == "weigh" and moved_g:
            display = display_of_step(old)
            found[old["key"]] = _from(new, planned, display.counts(display.grams(planned) + moved_g))
        if block.stands_by(old):
            continue  # not on the vessel's scale by that
        moved_g += (target_g(new) if new["kind"] == "weigh" else 0.0) - target_g(old)
    return found


def _from(step: Weighing, planned: int, now: int) -> Weighing:
    """A step in a shop that never tares, on a display that goes on from another count than planned."""

    def said() -> Weighing:
        words = in_words(step)
        return {**with_gross(words, now + step["target"]), "how": going_on_from(words, planned, now)}

    return in_each_language(said)


def _others(block: Block, display: Display, pour: str | None) -> Sequence[tuple[str, float]]:
    """The block's other pours on such a display: a reading near one of them may be of the wrong container."""
    return [
        (pour_name(found["name"], scent_of(found)), found["target_g"])
        for key, found in block.pours.items()
        if key not in (pour, MADE) and display_of(found["division_g"], found["unit"]) == display
    ]
