"""What a day asks of the tanks: how long each warms up, and whether lye and blends last for the blocks; what was typed goes first."""

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from answers.heat_address import wanted_address
from answers.request import Request
from answers.tasks.tanks import Shown, plan_address, tanks_shown
from calc.day.conflicts import Short, short_of, still_takes_g
from calc.day.declared import DayQuestion
from calc.day.durations import STEP_MIN, moments
from calc.day.plan import Make
from calc.day.schedule import Schedule
from calc.entry.language import tr
from calc.entry.problems import InputProblems
from calc.formula.declaration import Formula
from calc.tables.reference import constant
from calc.tanks.readings import readings
from calc.tanks.spread import Spread, exactly
from calc.tanks.standing import drawable_g
from calc.tanks.switching import SwitchedOn, kept, switched_on
from calc.tanks.warm_up import warm_up
from calc.tanks.warming import ELEMENT_BARE, Around, Warming


@dataclass(frozen=True)
class Lead:
    """One tank that is heated, and by what it is known how long that takes.

    by: "typed", "usual", or "tank", as it stands. told: so many minutes, where it is no tank's. fault: why it can't be reckoned by
    the tank. bare: so little is in it that its element may be. kept_at: when it is to be switched on for that day, as somebody kept it.
    tapped: when and by whom it was.
    """

    holds: str
    by: str
    told: int = 0
    shown: Shown | None = None
    warm: Warming | None = None
    fault: str = ""
    bare: bool = False
    kept_at: datetime | None = None
    tapped: SwitchedOn | None = None

    @property
    def name(self) -> str:
        """What it is called."""
        if self.shown is not None:
            return self.shown.standing.tank.name
        return tr("Oil tank") if self.holds == "oils" else tr("Lye tank")

    def before(self, ready: datetime) -> Spread:
        """How long before that instant it is switched on [min]; infinite where its heater never gets it so warm."""
        return exactly(self.told) if self.warm is None else self.warm.before(ready)

    def after(self, on: datetime) -> Spread:
        """How long it takes, switched on at that instant [min]; infinite as above."""
        return exactly(self.told) if self.warm is None else self.warm.after(on)

    def switch_at(self, ready: datetime) -> datetime:
        """When it is switched on so that it is surely warm then; as the page of its heat tells it."""
        at = None if self.warm is None else self.warm.switch_at(ready)
        return ready - timedelta(minutes=self.told) if at is None else at


@dataclass(frozen=True)
class Tank:
    """When a tank is switched on and when it is surely warm [minute of the day]; on: it is; takes: how long, with its ends [min].

    never: its heater never gets it so warm; then it is planned with what is usual.
    """

    lead: Lead
    begin: int
    ready: int
    on: bool
    takes: Spread
    never: bool

    def heat_address(self, ready: datetime, units: str) -> str:
        """What the page of its heat opens with, as the end of its address, so that both say the same."""
        assert self.lead.shown is not None and self.lead.warm is not None
        return wanted_address(self.lead.shown.id, self.lead.warm.wanted_c, ready, units)

    @property
    def is_told(self) -> bool:
        """Whether somebody has to switch it on, or has: one that is warm enough by itself only stands behind the answer.

        Nobody is told to heat one whose element may be bare.
        """
        return self.on or (self.begin < self.ready and not self.lead.bare)


# A step that float noise alone begins is none.
FLOAT_NOISE = 1e-6


def in_steps(minutes: float) -> int:
    """In whole steps of the plan, rather too long than too short."""
    return STEP_MIN * math.ceil(minutes / STEP_MIN - FLOAT_NOISE)


def leads(question: DayQuestion, request: Request, makes: Sequence[Make]) -> list[Lead]:
    """Each tank that is heated for the blocks of the day."""
    state = request.state
    premixed = any(entry.values.get("form") == "premixed" for entry in state.stored("alkali_lot"))
    asked = {
        "oils": (question.oil_tank_minutes, "day_oil_tank_usual", state.habits().oils == "blend"),
        "lye": (question.lye_tank_minutes, "day_lye_tank_usual", premixed),
    }  # fmt: skip
    shown = _shown(request)
    found: list[Lead] = []
    for holds, (typed, usual, there) in asked.items():
        own = [each for each in shown if each.standing.tank.holds == holds]
        if typed is not None:
            found += [_told(holds, "typed", typed, own, request, question)] if typed else []
            continue
        # Of a tank whose contents nobody has told, what is usual is as good as anything; one that was emptied nobody heats.
        known = [each for each in own if not each.contents.empty]
        untold = [each for each in own if not each.contents.entries]
        if not known and there and (not own or any(each.standing.tank.heater_w for each in untold)):
            found.append(_told(holds, "usual", round(constant(usual).value), untold, request, question))
        elif not known and there:
            found += [_to_load(each, round(constant(usual).value), request, question) for each in own if each.standing.tank.heater_w]
        for each in known:
            formulas = _formulas(each, makes, request)
            if formulas is not None and each.standing.tank.heater_w:
                found.append(_of_tank(each, formulas, round(constant(usual).value), request, question))
    return found


def _shown(request: Request) -> list[Shown]:
    """The workshop's tanks; one whose form is faulty is told on its own page."""
    found = []
    for each in tanks_shown(request):
        with suppress(InputProblems):
            found.append(each())
    return found


def _told(holds: str, by: str, minutes: int, own: Sequence[Shown], request: Request, question: DayQuestion) -> Lead:
    heated = [each for each in own if each.standing.tank.heater_w] or own
    return _switched(Lead(holds, by, minutes, heated[0] if len(heated) == 1 else None), request, question)


def _formulas(shown: Shown, makes: Sequence[Make], request: Request) -> list[Formula] | None:
    """The formulas of the day that draw on a tank, as far as they are still there; None where no block does."""
    contents = shown.contents
    if shown.standing.tank.holds == "lye":
        drawing = [make for make in makes if contents.as_lot is None or contents.as_lot in (make.lye or {})]
    else:
        drawing = [make for make in makes if not contents.formulas or make.formula in contents.formulas]
    found = []
    for id_ in dict.fromkeys(make.formula for make in drawing):
        with suppress(InputProblems):
            found.append(request.state.formula(id_, "blocks")[1])
    return found if drawing else None


def _of_tank(shown: Shown, formulas: Sequence[Formula], usual: int, request: Request, question: DayQuestion) -> Lead:
    """Warm enough for every formula that draws on it."""
    state, tank = request.state, shown.standing.tank
    now = datetime.fromisoformat(request.now[:16])
    if tank.holds == "oils":
        wanted_c = max((each.oils_poured_c for each in formulas), default=constant("oil_pour_usual").value)
    else:
        wanted_c = max((each.lye_poured_c for each in formulas), default=constant("lye_pour_usual").value)
    told = readings(state.contents, shown.id, now.date())
    try:
        around = Around(now, state.units, state.lye_limits().hottest_lye_c)
        warm = warm_up(shown.standing, told, now, wanted_c, state.oils(), around)
    except InputProblems as found:
        first = found.problems[0]
        bare = first.code == ELEMENT_BARE
        fault = f"{first.message} {first.remedy}" if bare else first.message
        return _switched(Lead(tank.holds, "usual", usual, shown, fault=fault, bare=bare), request, question)
    if warm is None:
        return _to_load(shown, usual, request, question)
    return _switched(Lead(tank.holds, "tank", usual, shown, warm), request, question)


def _to_load(shown: Shown, usual: int, request: Request, question: DayQuestion) -> Lead:
    """One with nothing in it is filled before it is heated: until that is told nobody switches it on, and what is usual counts."""
    fault = tr("It’s empty. Load it before it’s switched on.")
    return _switched(Lead(shown.standing.tank.holds, "usual", usual, shown, fault=fault, bare=True), request, question)


def _switched(lead: Lead, request: Request, question: DayQuestion) -> Lead:
    if lead.shown is None:
        return lead
    contents, id_ = request.state.contents, lead.shown.id
    at = kept(contents).get(id_)
    return replace(lead, kept_at=at.at if at and at.day == question.on else None, tapped=switched_on(contents, question.on).get(id_))


def warm_from(question: DayQuestion, heated: Sequence[Lead], makes: Sequence[Make], now: int | None) -> int:
    """From when the tanks can be drawn from [minute of the day]; 0 where nothing keeps them from being warm in time."""
    if now is None or not heated or any("began" in moments(make.events) for make in makes):
        return 0
    return max(_ready(question, lead, now) for lead in heated)


def _on(question: DayQuestion, lead: Lead) -> int | None:
    """When it was switched on, as typed, else as tapped [minute of the day]."""
    if question.switched_on is not None:
        return question.switched_on.hour * 60 + question.switched_on.minute
    return None if lead.tapped is None else _minute(question, lead.tapped.at)


def _kept(question: DayQuestion, lead: Lead) -> int | None:
    """When it is to be switched on, as somebody kept it [minute of the day]."""
    return None if lead.kept_at is None else _minute(question, lead.kept_at)


def _minute(question: DayQuestion, at: datetime) -> int:
    """Below 0 where that is the evening before."""
    return round((at - at_minute(question, 0)).total_seconds() / 60.0)


def _ready(question: DayQuestion, lead: Lead, now: int) -> int:
    on = _on(question, lead)
    begin = max(_next_step(now), _kept(question, lead) or 0) if on is None else on
    takes = in_steps(_surely(_counted(lead, lead.after(at_minute(question, begin)))))
    return begin + takes if takes else 0


def _next_step(now: int) -> int:
    return STEP_MIN * -(-now // STEP_MIN)


def _surely(takes: Spread) -> float:
    """What is told: the safe end, or where it may never be warm, the middle."""
    return takes.used if math.isinf(takes.high) else takes.high


def _counted(lead: Lead, takes: Spread) -> Spread:
    return exactly(lead.told) if math.isinf(takes.used) else takes


def at_minute(question: DayQuestion, minute: int) -> datetime:
    """A minute of the day as an instant of the clock there."""
    return datetime(question.on.year, question.on.month, question.on.day) + timedelta(minutes=minute)


def heated_tanks(question: DayQuestion, heated: Sequence[Lead], makes: Sequence[Make], best: Schedule, now: int | None) -> list[Tank]:
    """When each is switched on: once a block is begun they are warm, and nothing is told of them."""
    marks = {make.mark for make in makes}
    first = min((each.start for each in best.placed if each.job.key in marks), default=None)
    if first is None or any(each.done for each in best.placed if each.job.key in marks):
        return []
    found = []
    for lead in heated:
        on = None if now is None else _on(question, lead)
        if on is not None:
            takes = lead.after(at_minute(question, on))
            counted = _counted(lead, takes)
            found.append(Tank(lead, on, on + in_steps(_surely(counted)), True, counted, counted is not takes))
            continue
        takes = lead.before(at_minute(question, first))
        counted = _counted(lead, takes)
        begin, told = _minute(question, lead.switch_at(at_minute(question, first))), _kept(question, lead)
        # What is too late already is switched on now.
        begin = min(first, told if told is not None else begin if now is None else max(begin, _next_step(now)))
        found.append(Tank(lead, begin, first, False, counted, counted is not takes))
    return found


@dataclass(frozen=True)
class OnHand:
    """What can be drawn of one thing out of its tanks: lye of a lot, or with lot None any, as it was typed; or the blend for some formulas.

    gives_g None: nobody has said. wants_g: what all blocks of the day take of it. blocks: by formula, how many still draw on it.
    """

    holds: str
    lot: str | None
    tanks: tuple[Shown, ...]
    gives_g: float | None
    wants_g: float
    short: Short | None
    blocks: Mapping[str, int]

    @property
    def room_g(self) -> float:
        """What still fits into its tanks [g]; where none is known, anything."""
        return math.fsum(each.standing.room_g for each in self.tanks) if self.tanks else math.inf

    @property
    def load_at(self) -> str:
        """Where it is told how to load it, for the blocks of the day; "" where nobody can tell which tank that is."""
        return plan_address(self.tanks[0].id, self.blocks) if len(self.tanks) == 1 else ""


def on_hand(question: DayQuestion, request: Request, makes: Sequence[Make], best: Schedule) -> list[OnHand]:
    """Whether what stands in the tanks lasts for the day's blocks: each lot of lye, then each blend of oils."""
    shown = _shown(request)
    oils = [each for each in shown if each.standing.tank.holds == "oils"]
    return [*_lye(question, [each for each in shown if each.standing.tank.holds == "lye"], makes, best), *_blends(oils, makes, best)]


def _lye(question: DayQuestion, shown: Sequence[Shown], makes: Sequence[Make], best: Schedule) -> Iterator[OnHand]:
    """Lot by lot. What a begun block has drawn is gone from the tank already, so only its rest counts; as it was typed, a begun block has all of its."""
    if question.lye_on_hand_g is not None:
        begun = {each.job.key for each in best.placed if each.done}
        wants_g = {make.mark: math.fsum((make.lye or {}).values()) for make in makes}
        need_g = {make.mark: still_takes_g(make, wants_g[make.mark], 0.0) for make in makes if make.mark not in begun}
        short = short_of(best, need_g, question.lye_on_hand_g)
        yield OnHand("lye", None, (), question.lye_on_hand_g, math.fsum(wants_g.values()), short, {})
        return
    for lot in sorted({lot for make in makes for lot in (make.lye or {})}):
        holding = tuple(each for each in shown if not each.contents.empty and each.contents.as_lot == lot) or _emptied(shown)
        yield _lasts("lye", lot, holding, makes, {make.mark: (make.lye or {}).get(lot, 0.0) for make in makes}, best)


def _blends(shown: Sequence[Shown], makes: Sequence[Make], best: Schedule) -> Iterator[OnHand]:
    """Blend by blend, as many blocks as draw on the same tanks together: those loaded for their formula, else those for any."""
    drawing: dict[tuple[str, ...], list[Make]] = {}
    for make in makes:
        if make.blend_g > 0.0:
            full = [each for each in shown if not each.contents.empty]
            of_formula = [each for each in full if make.formula in each.contents.formulas] or [each for each in full if not each.contents.formulas]
            drawing.setdefault(tuple(each.id for each in of_formula), []).append(make)
    for ids, own in drawing.items():
        holding = tuple(each for each in shown if each.id in ids) or _emptied(shown)
        yield _lasts("oils", None, holding, own, {make.mark: make.blend_g for make in own}, best)


def _emptied(shown: Sequence[Shown]) -> tuple[Shown, ...]:
    """An empty tank waits for whatever no other one holds; of one that nobody ever told anything, nothing is known."""
    return tuple(each for each in shown if each.contents.empty and each.contents.entries)


def _lasts(holds: str, lot: str | None, holding: tuple[Shown, ...], makes: Sequence[Make], wants_g: Mapping[str, float], best: Schedule) -> OnHand:
    gives_g = drawable_g([each.standing for each in holding]) if holding else None
    need_g = {make.mark: still_takes_g(make, wants_g[make.mark], math.fsum(_drawn(make, holding))) for make in makes}
    blocks: dict[str, int] = {}
    for make in makes:
        if make.formula and need_g[make.mark] > 0.0:
            blocks[make.formula] = blocks.get(make.formula, 0) + 1
    return OnHand(holds, lot, holding, gives_g, math.fsum(wants_g.values()), short_of(best, need_g, gives_g), blocks)


def _drawn(make: Make, holding: Sequence[Shown]) -> Iterator[float]:
    for shown in holding:
        for draw in shown.contents.blocks:
            if make.subject == f"block:{draw.code}/{draw.block}":
                yield draw.grams
