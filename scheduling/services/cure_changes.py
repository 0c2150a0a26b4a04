"""What could be otherwise for a late house: each as the problem it would make."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.conf import settings

from finishing.models import Company, Crew, Holiday, House
from finishing.rules.compounds import system_faults
from finishing.rules.vocabulary import COATS, Compound, Stage
from scheduling.services.dryer_cures import stays_to_try
from scheduling.services.extra_days import extra_days
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WhatIf
from scheduling.services.room_work import Settings, read_settings
from scheduling.services.timeline import TICKS_PER_HOUR
from scheduling.solver.cures import Change, with_crew_day, with_overtime
from scheduling.solver.evaluate import TICKS_PER_DAY, day_of
from scheduling.solver.problem import Placement, Problem
from scheduling.solver.release import keep_what_holds

MOST_CREWS, MOST_DAYS = 2, 3
"""Of the crews with most work at the house, and of the days before it is done, how many are
tried: each costs a solve."""
DAYS_EARLIER = (1, 3)


@dataclass(frozen=True)
class Tried:
    """A change with what a sentence about it needs."""

    change: Change
    values: dict[str, str | int]


@dataclass(frozen=True)
class LateHouse:
    """A house to help: the inputs as they are and the plan as it stands."""

    company: Company
    house: House
    now: datetime
    inputs: PlanInputs
    placements: Sequence[Placement]

    @property
    def places(self) -> list[Placement]:
        """Return the house's own placements, in order of time."""
        key = str(self.house.public_id)
        mine = {task.id for task in self.inputs.problem.tasks if task.house == key}
        return sorted((p for p in self.placements if p.task in mine), key=lambda p: p.start)


def changes_for(late: LateHouse) -> Iterator[Tried]:
    """Yield what to try: more crew time first, then the house's opening and its compounds."""
    counts = Counter(place.crew for place in late.places)
    for crew_id, _ in counts.most_common(MOST_CREWS):
        crew = late.inputs.crews.get(crew_id)
        if crew is not None:
            yield from _crew_days(late, crew)
            yield from _overtime(late, crew)
    yield from _earlier_openings(late)
    yield from _other_compounds(late)
    yield from _dryers(late)


def _crew_days(late: LateHouse, crew: Crew) -> Iterator[Tried]:
    problem, timeline = late.inputs.problem, late.inputs.timeline
    holidays = frozenset(Holiday.objects.filter(company=late.company).values_list("day", flat=True))
    until = max((place.end for place in late.places), default=0) + TICKS_PER_DAY
    days = [
        (day, windows)
        for day, windows in extra_days(crew, timeline, holidays, until)
        if windows[0].start >= problem.now
    ]
    for day, windows in days[:MOST_DAYS]:
        changed = with_crew_day(problem, str(crew.public_id), windows)
        change = _change("crew_day", str(crew.public_id), windows[0].start, 1, changed)
        yield Tried(change, {"crew": crew.name, "day": day.isoformat()})


def _overtime(late: LateHouse, crew: Crew) -> Iterator[Tried]:
    """Yield an hour more on each day on which the crew is at the house, all in one."""
    key, changed = str(crew.public_id), late.inputs.problem
    solver_crew = next(row for row in changed.crews if row.id == key)
    mine = [p for p in late.places if p.crew == key and p.start >= changed.now]
    days = sorted({day_of(solver_crew, place.start) for place in mine})
    worked = {window.day for window in solver_crew.windows}
    for day in (day for day in days if day in worked):
        changed = with_overtime(changed, key, day, TICKS_PER_HOUR)
    if mine:
        change = _change("overtime", key, mine[0].start, len(days), changed)
        yield Tried(change, {"crew": crew.name, "days": len(days)})


def _earlier_openings(late: LateHouse) -> Iterator[Tried]:
    house = late.house
    for days in DAYS_EARLIER:
        inputs = _rebuilt(late, WhatIf(days_earlier={house.pk: days}))
        releases = {task.id: task.release for task in late.inputs.problem.tasks}
        moved = any(t.release < releases.get(t.id, t.release) for t in inputs.problem.tasks)
        if moved:
            change = _change(
                "release", str(house.public_id), days * TICKS_PER_DAY, days, inputs.problem
            )
            yield Tried(change, {"days": days})


def _other_compounds(late: LateHouse) -> Iterator[Tried]:
    """Yield quicker compounds for one stage of the house, where the rules allow them over and
    under its other coats."""
    rules = read_settings(late.company)
    for stage, name in quicker_compounds(late.house, _coats_left(late), rules):
        inputs = _rebuilt(late, WhatIf(swaps={(late.house.pk, stage): name}))
        if len(inputs.holds) <= len(late.inputs.holds):
            change = _change("compound", name, 0, 1, inputs.problem)
            yield Tried(change, {"stage": str(stage), "compound": name})


def quicker_compounds(
    house: House, stages: Sequence[Stage], rules: Settings
) -> Iterator[tuple[Stage, str]]:
    """Yield (stage, compound) that would be waited for less, at fault in no area of the house."""
    areas = list(house.areas.all())
    for stage in stages:
        used = [rules.compounds_for(area).get(stage) for area in areas]
        longest = max((_wait_hours(compound) for compound in used if compound), default=0.0)
        for compound in rules.compounds:
            if stage not in compound.stages or _wait_hours(compound) >= longest:
                continue
            swapped = replace(rules, swaps={(house.pk, stage): compound.name})
            systems = [swapped.system_for(area) for area in areas]
            left = frozenset(stages)
            if not any(system_faults(s, rules.compounds, stages=left) for s in systems):
                yield stage, compound.name


def _dryers(late: LateHouse) -> Iterator[Tried]:
    """Yield a dehumidifier at the house, for as long as its coats have most use of it."""
    for problem, values in stays_to_try(late.company, late.house, late.inputs, late.placements):
        times = 2 if values["more"] else 1
        yield Tried(_change("dryer", str(values["dryer"]), 0, times, problem), values)


def _coats_left(late: LateHouse) -> list[Stage]:
    mine = {place.task for place in late.places}
    left = {row.stage for key, row in late.inputs.stages.items() if key in mine}
    return [stage for stage in Stage if stage in left & COATS]


def _wait_hours(compound: Compound) -> float:
    return max(compound.set_hours, compound.practice_hours)


def _rebuilt(late: LateHouse, what_if: WhatIf) -> PlanInputs:
    inputs = build_inputs(company=late.company, now=late.now, what_if=what_if)
    inputs.problem = keep_what_holds(inputs.problem, inputs.pinned).problem
    return inputs


def _change(code: str, subject: str, tick: int, times: int, problem: Problem) -> Change:
    return Change(code, subject, tick, settings.CURE_PRICES[code] * times, problem)
