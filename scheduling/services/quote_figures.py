"""Hours, material and cost of a quote's house: of its visits, once all of its work has a place in a
plan, or of its work as taken off, wherever and whenever that is done."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from finishing.models import House
from finishing.rules.costs import Cost, rounded, total_of
from finishing.rules.prices import PriceKind
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Hardening, Skill
from scheduling.models import PlannedTask
from scheduling.queries.visits import blocks_of
from scheduling.services.house_tasks import SKILL_OF
from scheduling.services.quotes import AskedHouse
from scheduling.services.room_work import RoomStage, read_settings, room_stages
from scheduling.services.task_details import stage_details, task_details
from scheduling.services.time_sheet import TimeSheet
from scheduling.solver.outcome import Outcome
from scheduling.solver.serialize import problem_to_json


@dataclass(frozen=True)
class Figures:
    """What a house takes and costs. person_minutes: on site, setting up and washing up included, or
    of the work alone; material: see ``_material_of``."""

    person_minutes: int
    material: Mapping[str, float]
    cost: Cost


def figures_in_plan(asked: AskedHouse, outcome: Outcome) -> Figures:
    """Return what the house's visits come to."""
    rows = list(_task_rows(asked, outcome))
    sheet = TimeSheet.of_problem(problem_to_json(replace(asked.problem, curves={}, waits=())))
    times = (time for time in sheet.visits(blocks_of(rows)) if _is_of(time.block.house, asked))
    visits = [asked.pricing.visit(time) for time in times]
    return Figures(
        sum(visit.person_minutes for visit in visits),
        _material_of(row.details for row in rows if row.details),
        total_of(visit.cost for visit in visits),
    )


def _task_rows(asked: AskedHouse, outcome: Outcome) -> Iterator[PlannedTask]:
    """Yield the plan's tasks as rows that are never stored: the others' too, for ways from there.
    Those of the house have details, for their material."""
    places = {place.task: place for place in outcome.placements}
    tasks = {task.id: task for task in asked.inputs.problem.tasks}
    for key, place in places.items():
        task, stage = tasks[key], asked.inputs.stages.get(key)
        mine = task.house == asked.id
        yield PlannedTask(
            key=key,
            crew=asked.inputs.crew(place.crew),
            house=asked.inputs.houses[task.house],
            stage=stage.stage if stage else ODD_JOB,
            starts_at=asked.inputs.timeline.instant(place.start),
            ends_at=asked.inputs.timeline.instant(place.end),
            details=task_details(asked.inputs, place, task, {}, places) if mine else {},
        )


def figures_of_takeoff(asked: AskedHouse) -> Figures:
    """Return what all work of the house comes to without a place in a plan: no ways, no setting up
    and washing up, no extra hours."""
    stages = list(_all_stages(asked))
    tasks = [{**stage_details(one), "key": one.key, "stage": one.stage} for one in stages]
    labour, unpaid = _labour(asked, stages)
    material, unpriced = asked.pricing.material.price_of(tasks)
    cost = Cost(labour=rounded(labour), material=rounded(material), unpriced=unpriced | unpaid)
    return Figures(sum(one.person_minutes for one in stages), _material_of(tasks), cost)


def _all_stages(asked: AskedHouse) -> Iterator[RoomStage]:
    """Yield all there is to do, also what is held back before any search."""
    settings = read_settings(asked.house.company)
    for area in asked.house.areas.all():
        for room in area.rooms.all():
            yield from room_stages(room, area, settings)


def _labour(asked: AskedHouse, stages: Iterable[RoomStage]) -> tuple[Fraction, frozenset[str]]:
    """Return what the people's ordinary hours cost, in (fractions of) minor units, and the kind of
    price that is missing, if one is."""
    exact, unpaid = Fraction(0), frozenset[str]()
    for stage in stages:
        price = _mean_hour(asked, SKILL_OF.get(stage.stage, Skill.COATING))
        if price is None:
            unpaid = frozenset({PriceKind.HOUR.value})
        else:
            exact += Fraction(stage.person_minutes, 60) * price
    return exact, unpaid


def _mean_hour(asked: AskedHouse, skill: Skill) -> Fraction | None:
    """Return what an ordinary hour costs on the day that the house is supposed to open, in the mean
    of the crews that have a skill (of all where none has); None where one of them has no price."""
    crews = asked.problem.crews
    able = [crew.id for crew in crews if skill in crew.skills] or [crew.id for crew in crews]
    day, prices = asked.house.handover_on, asked.pricing.prices
    found = [prices.on(PriceKind.HOUR, day, crew) for crew in able or [""]]
    known = [price for price in found if price is not None]
    return Fraction(sum(known), len(known)) if len(known) == len(found) else None


def _is_of(house: House, asked: AskedHouse) -> bool:
    return str(house.public_id) == asked.id  # its row is gone, and another's may have its key


def _material_of(tasks: Iterable[Mapping[str, Any]]) -> dict[str, float]:
    """Return the kg of compound as it is put on, the kg of setting powder to buy for it, and the
    metres of tape."""
    used = [(task["material"], task["hardening"]) for task in tasks]
    return {
        "kg": round(sum(one["kg"] for one, _ in used), 1),
        "powder_kg": round(sum(one["powder_kg"] for one, by in used if by == Hardening.SETS), 1),
        "tape_m": round(sum(one["tape_m"] for one, _ in used), 1),
    }
