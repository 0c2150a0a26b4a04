"""The coats still to do in a house, with their compound and water."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import House
from finishing.queries.houses import houses_for_planning
from finishing.rules.materials import litres_for
from finishing.rules.vocabulary import Stage
from scheduling.queries.plans import working_plan
from scheduling.services.done_work import DoneWork
from scheduling.services.laid_coats import coat_water_kg, laid_coats
from scheduling.services.room_work import RoomStage, Settings, stage_key
from scheduling.services.surveys import survey

type Coats = list["CoatToCome"]


@dataclass(frozen=True)
class CoatToCome:
    """A coat of a room, or what is left of it. key: its task's. litres: as they stay on the
    board, without waste. amount: drying it needs (1: the table's coat)."""

    key: str
    stage: Stage
    litres: float
    water_kg: float
    amount: float


class CoatsOfHouse:
    """A house's coats that are not done yet; none for a house without work to plan.

    house: with all that planning reads of it, where it has work.
    """

    def __init__(self, house: House, settings: Settings, done: DoneWork) -> None:
        row = houses_for_planning(house.company).filter(pk=house.pk).first()
        self.house = row or house
        self._areas = [survey(area, settings, done) for area in (row.areas.all() if row else [])]
        self._stages = {
            stage.key: stage
            for found in self._areas
            for _, stages in found.rooms
            for stage in stages
        }

    def left(self) -> Coats:
        """Return what is left of every coat."""
        return list(self._coats(dict.fromkeys(self._stages, 0)))

    def by_visit(self, now: datetime) -> list[Coats]:
        """Return the coats that each visit of the working plan puts on from ``now`` on: those of
        one crew on one day."""
        zone = ZoneInfo(self.house.zone)
        plan = working_plan(self.house.company)
        rows = plan.tasks.filter(house=self.house, starts_at__gte=now) if plan else []
        visit_of = {row.key: (row.crew_id, row.starts_at.astimezone(zone).date()) for row in rows}
        visits: defaultdict[object, Coats] = defaultdict(list)
        for coat in self._coats(dict.fromkeys(visit_of, 0)):
            if coat.key in visit_of:
                visits[visit_of[coat.key]].append(coat)
        return list(visits.values())

    def _coats(self, ends: Mapping[str, int]) -> Iterator[CoatToCome]:
        """Yield what is left of the coats, shared over their tasks (the keys of ``ends``)."""
        for found in self._areas:
            for _, stages in found.rooms:
                for coat in laid_coats(found.area, stages, found.done, ends):
                    if not coat.part or not coat.water_kg > 0:
                        continue
                    stage = self._stages[stage_key(coat.room, coat.stage)]
                    litres = _litres(stage) * coat.water_kg / coat_water_kg(stage)
                    yield CoatToCome(coat.key, coat.stage, litres, coat.water_kg, coat.amount)


def _litres(stage: RoomStage) -> float:
    return sum(
        litres_for(part.work, part.quantities, area_m2=part.surface.area_m2)
        for part in stage.surfaces
    )
