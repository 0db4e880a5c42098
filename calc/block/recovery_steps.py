"""Steps that a recovery puts in or puts in place of others, as the plain values that are stored with the decision."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from calc.block.chemistry import NEAR_FRACTION, OIL_BLEND, Block, display_of_step, target_g
from calc.block.events import AGAIN, ON, OUT, Done, Step
from calc.entry.language import tr
from calc.entry.problems import InputProblems
from calc.entry.units import show_unit
from calc.scales.display import Display, display_of
from calc.scales.weighing import ALLOWED_MAIN, ALLOWED_SMALL, JUG_ROOM, choose_scale, minimum_load_g
from calc.steps.pour_names import pour_name, within
from calc.steps.step import WeighStep, confirm, goes_on_from, tared, weigh
from calc.steps.words import in_each_language, in_words
from calc.workshop.equipment import ScaleItem


def lye_words() -> str:
    """What is worn at lye, and who has the last word."""
    return tr("Goggles, face shield and gloves on. The supplier's safety data sheet decides where it asks for more.")


def named(block: Block, key: str) -> str:
    """A pour inside a sentence: "olive oil", "caustic soda (NaOH) lye", "the oil blend"."""
    if key == OIL_BLEND:
        return tr("the oil blend")
    return within(str(block.pours[key]["name"])).split(" (virg")[0]


def extra_step(block: Block, pour: str, mass_g: float) -> tuple[Step, float] | None:
    """A step that adds so much of a pour or of the blend, and the grams the display can show of it; None when none.

    It goes into the vessel on its scale, or is weighed apart where that scale is too coarse for it.
    """
    try:
        choice = choose_scale(
            [scale for scale, _ in block.scales.values()],
            mass_g,
            in_vessel=True,
            allowed_error_fraction=ALLOWED_SMALL,
            already_on_g=block.on_scale_g,
            down=_down(block, pour),
        )
    except InputProblems:
        return None
    item = block.scales[choice.scale.name][1]
    display = display_of(item.division_g, item.reads_in)
    added_g = display.grams(display.counts_of(mass_g, down=_down(block, pour)))
    if added_g == 0.0:
        return None
    found = in_each_language(lambda: _extra(block, pour, item, display, added_g, apart=choice.apart))
    return found, added_g


def _down(block: Block, pour: str | None) -> bool:
    """Whether a pour is rounded down: alkali. A sheet whose pours name no portions was issued to the nearest, and stays so."""
    return pour in block.alkalis and "portions" in block.pours[pour]


def _extra(block: Block, pour: str, item: ScaleItem, display: Display, mass_g: float, *, apart: bool) -> dict[str, Any]:
    in_vessel, lye = not apart, pour in block.alkalis
    if apart:
        how = tr("Weigh it apart on {scale}, jug tared. Then tip all of it into the vessel and stir.", scale=item.name)
    elif block.tares:
        how = tr("{tare} Pour it in, then read.", tare=tared(display))
    else:
        how = tr("{tare} Then read.", tare=goes_on_from(display.said(display.counts(planned_on_g(block)))))
    found = weigh(
        f"add:{pour}:{len(block.events.events)}:{OIL_BLEND}" if pour == OIL_BLEND else f"add:{pour}:{len(block.events.events)}",
        tr("Add {pour}", pour=named(block, pour)),
        f"{lye_words() if lye else _wear(block)} {how}",
        scale=item.name,
        display=display,
        capacity_g=item.capacity_g,
        target_g=mass_g,
        allowed_g=ALLOWED_SMALL * mass_g,
        pour=None if pour == OIL_BLEND else pour,
        lot=None if pour == OIL_BLEND else block.pours[pour]["lot"],
        on_scale_g=planned_on_g(block) if in_vessel else None,
        untared_g=(block.on_scale_g,) if in_vessel and block.tares else (),
        counts_on=in_vessel and not block.tares,
        twice=lye,
        others=_others(block, display, pour),
        next_=None if in_vessel else tr("Tip it all in; let the jug drain."),
    )
    return plain(found)


def planned_on_g(block: Block) -> float:
    """What the page takes to stand on the vessel's scale before a step put in now [g].

    Without tare the page itself moves a planned figure by how far the reading before ended from its plan.
    """
    if block.tares:
        return block.on_scale_g
    gross = [d for d in block.events.weighings() if d.event.get("mode") == "gross" and d.step["gross_text"] is not None]
    if not gross:
        return block.on_scale_g
    step = gross[-1].step
    display = display_of_step(step)
    planned = round(float(step["gross_text"]) * 10 ** display.decimals)
    return block.on_scale_g - gross[-1].reading_g + display.grams(planned)


def with_target(block: Block, step: Step, mass_g: float) -> Step:
    """A step still to come with another target [g], in all that its display shows; with nothing to weigh it says so."""
    return in_each_language(lambda: _with_target(block, in_words(step), mass_g))


def _with_target(block: Block, step: Step, mass_g: float) -> Step:
    display, scale, there = display_of_step(step), step["scale"], block.there(step)
    if not _worth_weighing(block, step, mass_g - (0.0 if there is None else there.g)):
        return plain(
            confirm(
                step["key"],
                tr("No more {pour}", pour=named(block, step["pour"])),
                tr("Nothing is poured here: what is in the vessel is enough. Keep what is left closed and labelled."),
            )
        )
    how = step["how"]
    in_vessel = step["gross_text"] is not None
    if not in_vessel and JUG_ROOM * mass_g > block.scales[scale][0].capacity_g:
        items = [item for _, item in block.scales.values()]
        holding = [item for item in items if JUG_ROOM * mass_g <= item.capacity_g]
        item = (
            min(holding, key=lambda item: (item.division_g, item.capacity_g))
            if holding
            else max(items, key=lambda item: item.capacity_g)
        )
        scale, display = item.name, display_of(item.division_g, item.reads_in)
        how = tr(
            "Weigh it out into a dry jug on {scale}, jug tared. Then tip all of it into the vessel.", scale=item.name
        )
    on_g = None
    if in_vessel:
        planned = round(float(step["gross_text"]) * 10 ** display.decimals) - step["target"]
        on_g = display.grams(planned)
    short = str(step["key"]).endswith(":short")
    if short:
        allowed_g = display.grams(step["high"] - step["target"])
    else:
        allowed_g = (ALLOWED_SMALL if str(step["key"]).endswith(":top-up") else ALLOWED_MAIN) * mass_g
    runs_on_g = None if step["close_valve"] is None else display.grams(step["target"] - step["close_valve"])
    made = weigh(
        step["key"],
        step["title"],
        how,
        scale=scale,
        display=display,
        capacity_g=block.scales[scale][0].capacity_g,
        target_g=mass_g,
        allowed_g=allowed_g,
        pour=step["pour"],
        lot=step["lot"],
        stop=step["stop"],
        on_scale_g=on_g,
        untared_g=(block.on_scale_g,) if in_vessel and block.tares else (),
        counts_on=in_vessel and not block.tares,
        runs_on_g=runs_on_g,
        twice=step["twice"],
        others=_others(block, display, step["pour"]),
        next_=step["next"],
        down=_down(block, step["pour"]),
    )
    found = {**plain(made), "fine": step["fine"]}
    return found if there is None else _goes_on(found, display.counts(there.g))


def _worth_weighing(block: Block, step: Step, mass_g: float) -> bool:
    """Whether there is something to pour: no lye so little that its scale can't weigh it and the superfat not tell it."""
    if display_of_step(step).counts_of(mass_g, down=_down(block, step["pour"])) <= 0:
        return False
    if step["pour"] not in block.alkalis or mass_g >= minimum_load_g(block.scales[step["scale"]][0]):
        return True
    return block.koh_per_g(step["pour"]) * mass_g >= NEAR_FRACTION * block.demand_koh_g(block.at_end())


def pour_on_step(block: Block, done: Done) -> Step | None:
    """A pour into the vessel that came short, once more to its target; its reading is of both and takes their place.

    None when nothing worth weighing is missing.
    """
    step, key = done.step, str(done.step["key"])
    asked, display, there_g = done.event["asked"], display_of_step(done.step), block.net[key].g
    # Without tare the reading and what was asked stand higher by what was in the vessel before.
    meant_g = display.grams(asked["target"]) - (done.reading_g - there_g)
    if not _worth_weighing(block, step, meant_g - there_g):
        return None
    if display.counts(meant_g) != step["target"]:
        step = with_target(block, step, meant_g)
    return in_each_language(lambda: _pour_on(block, done, in_words(step), display.counts(there_g)))


def _pour_on(block: Block, done: Done, step: Step, there: int) -> dict[str, Any]:
    how = tr(
        "Don't press tare: the display goes on from {before}. Pour until it is in the band, let it drain, then read.",
        before=f"{done.reading} {show_unit(step['unit'])}",
    )
    found = {
        **step,
        "key": f"{ON}{done.step['key']}",
        "title": tr("Pour on: {pour}", pour=named(block, step["pour"] or OIL_BLEND)),
        "how": f"{how} {lye_words()}" if step["pour"] in block.alkalis else how,
    }
    return _goes_on(found, there)


def _goes_on(step: Step, there: int) -> dict[str, Any]:
    """With a question about a display that shows less than it did before [counts]."""
    less = {
        "code": "less-than-before",
        "low": 0,
        "high": min(there, step["low"]) - 1,
        "text": tr(
            "That is less than before this pour. Was tare pressed? Then type what stood there before and this, together."
        ),
    }
    if less["high"] < 0:
        return dict(step)
    kept = [question for question in step["questions"] if question["code"] not in ("nothing-poured", less["code"])]
    return {**step, "questions": [less, *kept]}


def ladle_step(block: Block, done: Done) -> Step | None:
    """What was poured too much, back out of the vessel on the same display; its reading is of what stays.

    None when nothing was meant to stay.
    """
    step, display, there_g = done.step, display_of_step(done.step), block.shown_g[str(done.step["key"])]
    meant_g = display.grams(done.event["asked"]["target"]) - (done.reading_g - there_g)
    if display.counts(meant_g) <= 0:
        return None
    if display.counts(meant_g) != step["target"]:
        step = with_target(block, step, meant_g)
    return in_each_language(lambda: _ladled(block, done, in_words(step), display.counts(there_g)))


def _ladled(block: Block, done: Done, step: Step, there: int) -> dict[str, Any]:
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
    most = max(above, display.counts(block.scales[step["scale"]][0].capacity_g))
    more = {
        "code": "more-than-before",
        "low": above,
        "high": most,
        "text": tr("That is more than before you ladled. Type what the display shows now."),
    }
    kept = [asked for asked in step["questions"] if asked["code"] not in ("nothing-poured", "not-tared", "less-than-before")]
    return {
        **step,
        "key": f"{OUT}{done.step['key']}",
        "title": tr("Ladle back: {pour}", pour=named(block, ladled_pour(block, step))),
        "how": f"{how} {_wear(block)}",
        "next": tr("Label the pail “ladled out, not for the tank”."),
        "pour": None,
        "lot": None,
        "close_valve": None,
        "close_valve_text": None,
        "fine": None,
        "questions": [more, *kept],
    }


def ladled_pour(block: Block, step: Step) -> str:
    """The pour that a step is about, the one that was poured too much where it ladles back."""
    key = str(step["key"])
    while key.startswith((ON, OUT)):
        key = key.removeprefix(ON if key.startswith(ON) else OUT)
    poured = next((each["pour"] for each in block.events.steps if each["key"] == key), None)
    return str(poured or OIL_BLEND)


def _wear(block: Block) -> str:
    """What stays on, and why once lye is in."""
    if any(key in block.alkalis for key in block.in_vessel):
        return tr("The batter is corrosive: gloves and goggles stay on.")
    return tr("Gloves and goggles stay on.")


def changed_targets(block: Block, targets: Mapping[str, float]) -> dict[str, Step]:
    """The steps that put in another count of their display [g to add] than stands now."""
    found = {}
    for step in block.undone():
        if step["key"] in targets:
            display, there = display_of_step(step), block.there(step)
            whole_g = targets[step["key"]] + (0.0 if there is None else there.g)
            if display.counts_of(whole_g, down=_down(block, step["pour"])) != step["target"]:
                found[step["key"]] = with_target(block, step, whole_g)
    return found


def again_step(step: Step) -> Step:
    """The same amount once more on the scale, after taking out or putting in; its reading takes the other's place."""
    return in_each_language(
        lambda: {
            **in_words(step),
            "key": AGAIN + str(step["key"]),
            "how": tr(
                "Take out or put in until the display is in the band. Take nothing back that has touched anything else."
            ),
        }
    )


def into_mould(block: Block, aside_text: str) -> dict[str, Step]:
    """The pour into the mould with what has to be kept out of it, or as issued once all of it fits again."""
    step = next((step for step in block.record["steps"] if step["key"] == "pour"), None)
    if step is None or step["key"] in block.events.done:
        return {}
    if not aside_text:
        return {} if step in block.events.steps else {"pour": step}
    return {"pour": in_each_language(lambda: {**in_words(step), "how": _keep_out(aside_text)})}


def _keep_out(aside_text: str) -> str:
    return tr(
        "Not all of it fits: keep about {aside} out, in a second mould. Mix first: both are the same batter. "
        "It is corrosive: gloves and goggles stay on. Close that mould, write batch, block and “corrosive” on it, "
        "and keep it apart, out of reach of others. Scrape the vessel out.",
        aside=aside_text,
    )


def shifted(block: Block, added_g: float, after: str, replaced: Mapping[str, Step]) -> dict[str, Step]:
    """Steps to come moved up by what is added before them [g], in a shop that never tares; else as they are."""
    found = dict(replaced)
    if block.tares:
        return found
    moved_g, passed = added_g, False
    for old in block.events.steps:
        passed = passed or old["key"] == after
        if not passed or old["kind"] != "weigh" or old["key"] in block.events.done:
            continue
        new = found.get(old["key"], old)
        if old["gross_text"] is not None and new["kind"] == "weigh" and moved_g:
            display = display_of_step(old)
            before = round(float(old["gross_text"]) * 10 ** display.decimals) - old["target"]
            on = display.counts(display.grams(before) + moved_g)
            gross_text = display.text(on + new["target"])
            found[old["key"]] = {**_saying(new, display.said(before), display.said(on)), "gross_text": gross_text}
        moved_g += (target_g(new) if new["kind"] == "weigh" else 0.0) - target_g(old)
    return found


def _saying(step: Step, before: str, now: str) -> dict[str, Any]:
    """A step with another figure in its words."""

    def said() -> Step:
        words = in_words(step)
        return {**words, "how": str(words["how"]).replace(before, now)}

    return in_each_language(said)


def plain(step: WeighStep) -> dict[str, Any]:
    """A step as plain JSON values, lists where the record has lists."""
    found = asdict(step)
    return {**found, "questions": list(found["questions"])}


def _others(block: Block, display: Display, pour: str | None) -> Sequence[tuple[str, float]]:
    """The block's other pours on such a display, for readings of the wrong container."""
    return [
        (pour_name(found["name"]), found["target_g"])
        for key, found in block.pours.items()
        if key not in (pour, "lye:made") and display_of(found["division_g"], found["unit"]) == display
    ]
