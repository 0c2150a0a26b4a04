"""How a proposal differs from what is published, as the JSON that is stored with it.

``figures`` and ``soon`` (the same for what was or will be before the third midnight): visits
moved to another day or crew, tasks with another crew, total and largest shift of the starts in
working hours, pairs of tasks in another order. ``new``, ``dropped``: visits with nothing that was
published, and published ones with nothing that is planned. ``moves``: each published visit of
which something has another crew or time, and where its work goes. ``holds_until``: when the
first work begins that is moved or added, before or after. ``handovers``: each promise before and
after. ``least``: whether it is proved that no plan of as much work changes less. ``told``: idle,
travel and extra minutes of what is published, beside its own ``travel_minutes`` and
``extra_minutes``.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.services.paid_time import extra_ticks, travel_ticks
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.published import Published
from scheduling.services.spans import span_json
from scheduling.services.timeline import local_instant
from scheduling.solver.change import Change, Visit, WorkingTime, change_between, visit_of
from scheduling.solver.evaluate import score_of
from scheduling.solver.outcome import Outcome
from scheduling.solver.problem import TICK_MINUTES, Placement, Problem

Json = dict[str, Any]

SOON_DAYS = 3
"""Today is the first of them."""


def change_json(inputs: PlanInputs, published: Published, outcome: Outcome) -> Json:
    """Return how a plan differs from the published one."""
    company = published.publication.company
    problem, seen, places = inputs.problem, published.current.seen, outcome.placements
    visits = _Visits(inputs, published, places)
    return {
        "figures": _figures(change_between(problem, seen, places)),
        "soon": _figures(
            change_between(problem, seen, places, until=_soon_ends(inputs, company.zone))
        ),
        "new": visits.new,
        "dropped": visits.dropped,
        "moves": visits.moves(),
        "holds_until": visits.holds_until(),
        **_paid(problem, places),
        "told": _told(problem, published),
        "least": outcome.least_change,
    }


def handovers_json(before: Iterable[Json], after: Iterable[Json]) -> list[Json]:
    """Return each promise with when it is met by either plan (None: not at all, or unknown)."""
    old = {_promise(row): row for row in before}
    return [
        {
            "house": row["house"],
            "areas": row["areas"],
            "due_on": row["due_on"],
            "state": row["state"],
            "before": old.get(_promise(row), {}).get("met_at"),
            "after": row["met_at"],
            "late_before": old.get(_promise(row), {}).get("late_minutes"),
            "late_after": row["late_minutes"],
        }
        for row in after
    ]


def _promise(row: Json) -> tuple[str, tuple[str, ...]]:
    """A promise whose day has changed is still the same one."""
    return row["house_id"], tuple(row["areas"])


def _paid(problem: Problem, places: Iterable[Placement]) -> Json:
    return {
        "travel_minutes": travel_ticks(problem, places) * TICK_MINUTES,
        "extra_minutes": extra_ticks(problem, places) * TICK_MINUTES,
    }


def _told(problem: Problem, published: Published) -> Json:
    """Return the same of what is published, as far as there is such work still."""
    tasks = {task.id for task in problem.tasks}
    places = [place for place in published.current.places if place.task in tasks]
    return {"idle_minutes": score_of(problem, places).idle, **_paid(problem, places)}


def _figures(change: Change) -> Json:
    return {
        "visits_moved": change.visits_moved,
        "crews_changed": change.crews_changed,
        "total_shift_hours": round(change.total_shift_minutes / 60, 2),
        "largest_shift_hours": round(change.largest_shift_minutes / 60, 2),
        "reversals": change.reversals,
    }


def _soon_ends(inputs: PlanInputs, zone_name: str) -> int:
    zone = ZoneInfo(zone_name)
    now = inputs.timeline.instant(inputs.problem.now)
    day = now.astimezone(zone).date() + timedelta(days=SOON_DAYS)
    return inputs.timeline.tick_after(local_instant(day, time.min, zone))


class _Visits:
    """The visits of the published plan and of another, by crew, house and day."""

    def __init__(
        self, inputs: PlanInputs, published: Published, places: Iterable[Placement]
    ) -> None:
        self.inputs = inputs
        told = {task: str(house.public_id) for task, house in published.houses.items()}
        self.names = {str(house.public_id): house.name for house in published.houses.values()}
        self.houses = told | {task.id: task.house for task in inputs.problem.tasks}
        self.time = WorkingTime(inputs.problem.crews)
        going_on = {task.id for task in inputs.problem.tasks}
        self.old = self._by_visit(
            place
            for place in published.current.seen
            if place.task in going_on or place.start >= inputs.problem.now
        )
        self.now_at = {place.task: place for place in places}
        seen = {place.task for group in self.old.values() for place in group}
        self.new = sum(
            all(place.task not in seen for place in group)
            for group in self._by_visit(places).values()
        )
        self.dropped = sum(
            all(place.task not in self.now_at for place in group) for group in self.old.values()
        )

    def _by_visit(self, places: Iterable[Placement]) -> dict[Visit, list[Placement]]:
        visits: dict[Visit, list[Placement]] = defaultdict(list)
        for place in sorted(places, key=lambda place: place.start):
            visits[visit_of(self.time, self.houses[place.task], place)].append(place)
        return visits

    def moves(self) -> list[Json]:
        """Return the published visits of which something is elsewhere, in order of time."""
        found = []
        for group in sorted(self.old.values(), key=lambda group: group[0].start):
            away = [place for place in group if self._is_away(place)]
            if away:
                found.append(self._move(group, away))
        return found

    def holds_until(self) -> str | None:
        """Return when the first work begins that a crew would have to be told about."""
        old = {place.task: place for group in self.old.values() for place in group}
        told = [place for place in old.values() if self._is_away(place)]
        telling = [
            place
            for task, place in self.now_at.items()
            if task not in old or self._is_away(old[task])
        ]
        first = min((place.start for place in [*told, *telling]), default=None)
        return None if first is None else self.inputs.timeline.instant(first).isoformat()

    def _is_away(self, place: Placement) -> bool:
        now = self.now_at.get(place.task)
        return now is None or (now.crew, now.start) != (place.crew, place.start)

    def _move(self, group: list[Placement], away: list[Placement]) -> Json:
        goes_to = self._by_visit(
            self.now_at[place.task] for place in away if place.task in self.now_at
        )
        return {
            "house": self.names[self.houses[group[0].task]],
            "stages": [place.task.split(":")[1] for place in away],
            "from": span_json(self.inputs, group),
            "to": [span_json(self.inputs, places) for places in goes_to.values()],
            "other_day_or_crew": any(
                place.task in self.now_at and self.time.moves(place, self.now_at[place.task])
                for place in away
            ),
        }
