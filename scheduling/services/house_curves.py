"""What there is to draw of a house: its air, the water in its coats, how each coat dries."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import numpy as np

from finishing.models import Company, House
from scheduling.models import PlannedTask
from scheduling.queries.plans import working_plan
from scheduling.services.air_layers import KINDS, Hours
from scheduling.services.coat_curves import CoatCurve, RoomCurves
from scheduling.services.done_work import DoneWork
from scheduling.services.dryer_stays import stays_of
from scheduling.services.house_air import HouseAir
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs, WetHouses
from scheduling.services.standing_dryers import DryerStay, dryers_standing


@dataclass(frozen=True)
class RoomDrying:
    """A room and its area, by key and name, with its coats in the order in which they are put on.
    Not the rows: with all that planning reads of them they are most of what there is to keep."""

    area_id: int
    area: str
    room_id: UUID
    room: str
    coats: tuple[CoatCurve, ...]


@dataclass(frozen=True)
class HourlyAir:
    """A house's air from ``first`` on. Temperature, humidity (a fraction) and what they rest on
    hold for an hour each; in_coats_kg is the water left in the coats at its end."""

    first: datetime
    temperature_c: Hours
    humidity: Hours
    kinds: tuple[str, ...]
    in_coats_kg: Hours


@dataclass(frozen=True)
class HouseCurves:
    """A house's air, its rooms that have a coat which is drying or is planned, its dryers."""

    air: HourlyAir
    rooms: tuple[RoomDrying, ...]
    dryers: tuple[DryerStay, ...]


def house_curves(*, company: Company, house: House, now: datetime) -> HouseCurves | None:
    """Return the coats of a house as the working plan has them, in the air as it is known at
    ``now``; None where no air is known for it."""
    return curves_and_work(company=company, house=house, now=now)[0]


def curves_and_work(
    *, company: Company, house: House, now: datetime
) -> tuple[HouseCurves | None, DoneWork]:
    """Return the curves, and what is done of the company's work, which had to be known for them."""
    plan = working_plan(company)
    tasks = list(plan.tasks.filter(house=house)) if plan else []
    ends = {task.key: task.ends_at for task in tasks if task.ends_at > now}
    wet = WetHouses(ends, stays=stays_of(plan))
    inputs = build_inputs(company=company, now=now, wet=wet, only=house)
    air = inputs.airs.get(str(house.public_id))
    if air is None:
        return None, inputs.work
    rooms = tuple(_rooms(inputs, air, tasks, now))
    return HouseCurves(_hourly(inputs, air), rooms, dryers_standing(house, plan)), inputs.work


def _hourly(inputs: PlanInputs, air: HouseAir) -> HourlyAir:
    kinds = tuple(KINDS[kind] for kind in air.kinds)
    in_coats_kg = np.maximum(air.water.in_coats_kg, 0.0)  # a sum of floats ends beside zero
    return HourlyAir(inputs.timeline.origin, air.temperature_c, air.humidity, kinds, in_coats_kg)


def _rooms(
    inputs: PlanInputs, air: HouseAir, tasks: list[PlannedTask], now: datetime
) -> Iterator[RoomDrying]:
    plans: defaultdict[str, list[PlannedTask]] = defaultdict(list)
    for task in tasks:
        plans[task.key.partition(":")[0]].append(task)
    wet = [coat for coat in air.laid if coat.water_kg > 0]
    (house,) = inputs.houses.values()
    for area in house.areas.all():
        for room in area.rooms.all():
            laid = [coat for coat in wet if coat.room.pk == room.pk]
            curves = RoomCurves(inputs, air, laid, plans[str(room.public_id)])
            if coats := curves.still_wet(now):
                yield RoomDrying(area.pk, area.name, room.public_id, room.name, tuple(coats))
