"""One thing after another that upsets the plan of an invented town."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace

from scheduling.bench.towns import DAY
from scheduling.solver.evaluate import TICKS_PER_DAY
from scheduling.solver.problem import (
    Crew,
    Placement,
    Problem,
    ReadyCurve,
    Task,
)

NOW = 2 * DAY
"""Wednesday, 0:00: when the office hears of it. What began before stays where it was."""

HUMID_DAYS, HUMID_FACTOR = 7, 1.5
LATE_COAT_TICKS, LATE_HOUSE_TICKS = DAY, 4 * DAY

Places = tuple[Placement, ...]
Upset = Callable[[Problem, Places], Problem]


def as_of_now(problem: Problem, places: Places) -> Problem:
    """Return the problem at NOW, with the work begun before held where the plan has it."""
    begun = {place.task: place for place in places if place.start < NOW}
    tasks = tuple(replace(task, fixed=begun.get(task.id)) for task in problem.tasks)
    return replace(problem, now=NOW, tasks=tasks)


def humid_week(problem: Problem, _: Places) -> Problem:
    """What ends in the next seven days takes half as long again to dry."""
    curves = {name: _longer_for_a_week(curve) for name, curve in problem.curves.items()}
    return replace(problem, curves=curves)


def _longer_for_a_week(curve: ReadyCurve) -> ReadyCurve:
    """Return a wait that is always the same as one that is longer for a week; what ends after the
    week is never ready before what ended in it."""
    (lag,), last = curve.lags, NOW + HUMID_DAYS * TICKS_PER_DAY
    longer = round(lag * HUMID_FACTOR)
    return ReadyCurve((NOW, last, last + 1), (lag, longer, lag), (0, 0, last + longer))


def coat_late(problem: Problem, places: Places) -> Problem:
    """The first coat of Thursday that another waits for cannot start for a day."""
    waited_for = {wait.before for wait in problem.waits}
    later = [p for p in places if p.start >= NOW + DAY and p.task in waited_for]
    late = min(later, key=lambda place: (place.start, place.task))
    return _released(problem, lambda task: task.id == late.task, late.start + LATE_COAT_TICKS)


def crew_ill(problem: Problem, places: Places) -> Problem:
    """The crew with the most tasks on Thursday is away that day."""
    thursday = [place.crew for place in places if NOW + DAY <= place.start < NOW + 2 * DAY]
    busiest = min(Counter(thursday).items(), key=lambda item: (-item[1], item[0]))[0]
    return replace(problem, crews=tuple(_away_on(crew, busiest) for crew in problem.crews))


def _away_on(crew: Crew, name: str) -> Crew:
    if crew.id != name:
        return crew
    day = NOW // DAY + 1
    return replace(crew, windows=tuple(w for w in crew.windows if w.day != day))


def house_late(problem: Problem, places: Places) -> Problem:
    """The house that was to begin next, from Thursday on, opens four days later."""
    houses = {task.id: task.house for task in problem.tasks}
    begins: dict[str, int] = {}
    for place in sorted(places, key=lambda place: place.start):
        begins.setdefault(houses[place.task], place.start)
    start, name = min((start, house) for house, start in begins.items() if start >= NOW + DAY)
    return _released(problem, lambda task: task.house == name, start + LATE_HOUSE_TICKS)


def _released(problem: Problem, which: Callable[[Task], bool], tick: int) -> Problem:
    return replace(
        problem,
        tasks=tuple(
            replace(task, release=max(task.release, tick)) if which(task) else task
            for task in problem.tasks
        ),
    )


def new_house(problem: Problem, _: Places) -> Problem:
    """A house that the plan knew nothing of: ``without_last_house`` left it out."""
    return problem


def without_last_house(problem: Problem) -> Problem:
    """Return a town before its last house was ordered."""
    name = problem.houses[-1].id
    gone = {task.id for task in problem.tasks if task.house == name}
    return replace(
        problem,
        houses=problem.houses[:-1],
        tasks=tuple(task for task in problem.tasks if task.id not in gone),
        handovers=tuple(one for one in problem.handovers if one.house != name),
        waits=tuple(wait for wait in problem.waits if wait.before not in gone),
        travel={pair: ticks for pair, ticks in problem.travel.items() if name not in pair},
    )


UPSETS: Mapping[str, Upset] = {
    "humid week": humid_week,
    "one coat late": coat_late,
    "crew ill for a day": crew_ill,
    "house late": house_late,
    "new house": new_house,
}
