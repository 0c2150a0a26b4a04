"""How much water a house's coats will give off, and what keeps up with it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from finishing.models import Company, Dryer, House
from finishing.queries.houses import flame_in, flames_brought
from finishing.rules.day_ahead import FLAME_KG_PER_KWH
from finishing.rules.keeping_up import (
    TARGET_HUMIDITY,
    Dehumidifier,
    HeldAir,
    KeepingUp,
    WetCoat,
    given_off,
    keeping_up,
)
from finishing.rules.vocabulary import DryerKind, Stage
from scheduling.services.coats_to_come import Coats, CoatsOfHouse
from scheduling.services.done_work import DoneWork
from scheduling.services.held_air import held_air
from scheduling.services.inputs import done_so_far
from scheduling.services.room_work import ORDER, read_settings

EXAMPLE = Dehumidifier(litres_per_day=20.0)
"""Named where a company has entered no dehumidifier."""


@dataclass(frozen=True)
class StageWater:
    """A stage's coats still to do in all rooms: litres as they stay on the board."""

    stage: Stage
    litres: float
    water_kg: float


@dataclass(frozen=True)
class AskedDryer:
    """A dehumidifier that answers are given for. name: "" for the example; count: owned."""

    name: str
    count: int
    litres_per_day: float


@dataclass(frozen=True)
class Load:
    """What dries at the same time, and what keeps up with it, its dryers in the order of
    ``WaterAnswers.dryers``. visit: one crew's work of a day, else the whole of a stage at once."""

    visit: bool
    stages: tuple[Stage, ...]
    answer: KeepingUp


@dataclass(frozen=True)
class WaterAnswers:
    """A house's water still to come. held: None where no outdoor air is known; then no loads.

    flame_kg_per_kwh: water that its flame heaters add, its own or brought, None without any;
    flame_kg_per_h: at full heat, which counts in the loads, None where that is not known.
    until_closed: whether it is an open shell, so that the answers hold once it is closed.
    """

    stages: tuple[StageWater, ...]
    held: HeldAir | None
    dryers: tuple[AskedDryer, ...]
    loads: tuple[Load, ...]
    flame_kg_per_kwh: float | None
    flame_kg_per_h: float | None
    until_closed: bool

    @property
    def litres(self) -> float:
        return sum(stage.litres for stage in self.stages)

    @property
    def water_kg(self) -> float:
        return sum(stage.water_kg for stage in self.stages)


def water_answers(
    *,
    house: House,
    now: datetime,
    humidity: float = TARGET_HUMIDITY,
    done: DoneWork | None = None,
) -> WaterAnswers:
    """Return the answers for a house whose air is to be held at a relative humidity (a fraction).

    It is taken as heated to its set-point, else as warm as outdoors in the mean of a week.
    done: of the company's work at ``now``, where that is known already.
    """
    done = done or done_so_far(company=house.company, now=now)
    coats = CoatsOfHouse(house, read_settings(house.company), done)
    left = coats.left()
    held = held_air(coats.house, done.timeline, now, humidity)
    asked = _dryers(house.company)
    flame_kg_per_h = _flame_kg_per_h(house)
    return WaterAnswers(
        stages=_by_stage(left),
        held=held,
        dryers=tuple(asked),
        loads=tuple(
            Load(visit, _stages(wet), _answer(wet, held, asked.values(), flame_kg_per_h or 0.0))
            for visit, wet in _heaviest(left, coats.by_visit(now), held)
        )
        if held
        else (),
        flame_kg_per_kwh=FLAME_KG_PER_KWH if flame_in(house) else None,
        flame_kg_per_h=flame_kg_per_h,
        until_closed=house.is_open,
    )


def _by_stage(left: Coats) -> tuple[StageWater, ...]:
    found = [(stage, [coat for coat in left if coat.stage == stage]) for stage in _stages(left)]
    return tuple(
        StageWater(stage, sum(coat.litres for coat in coats), sum(coat.water_kg for coat in coats))
        for stage, coats in found
    )


def _stages(coats: Coats) -> tuple[Stage, ...]:
    there = {coat.stage for coat in coats}
    return tuple(stage for stage in ORDER if stage in there)


def _heaviest(left: Coats, visits: list[Coats], held: HeldAir) -> Iterator[tuple[bool, Coats]]:
    """Yield the visit, and the stage laid at once, that give off most."""
    whole = [[coat for coat in left if coat.stage == stage] for stage in _stages(left)]
    for visit, loads in ((True, visits), (False, whole)):
        if loads:
            yield visit, max(loads, key=lambda coats: given_off(_wet(coats), held))


def _answer(
    coats: Coats, held: HeldAir, units: Iterable[Dehumidifier], flame_kg_per_h: float
) -> KeepingUp:
    return keeping_up(_wet(coats), held, tuple(units), flame_kg_per_h=flame_kg_per_h)


def _wet(coats: Coats) -> list[WetCoat]:
    return [WetCoat(coat.water_kg, coat.amount) for coat in coats]


def _dryers(company: Company) -> dict[AskedDryer, Dehumidifier]:
    """Return the company's dehumidifiers, or else the example."""
    rows = Dryer.objects.filter(company=company, is_active=True, kind=DryerKind.DEHUMIDIFIER)
    found = {
        AskedDryer(row.name, row.count, row.litres_per_day): Dehumidifier(
            litres_per_day=row.litres_per_day,
            rated_c=row.rated_c,
            rated_humidity=row.rated_humidity,
            hold_humidity=row.hold_humidity,
            least_c=row.least_c,
        )
        for row in rows
    }
    return found or {AskedDryer("", 0, EXAMPLE.litres_per_day): EXAMPLE}


def _flame_kg_per_h(house: House) -> float | None:
    if not flame_in(house) or (house.flame_heater and house.heat_kw is None):
        return None
    own_kw = house.heat_kw if house.flame_heater and house.heat_kw else 0.0
    brought_kw = sum(row.count * row.heat_kw for row in flames_brought(house))
    return FLAME_KG_PER_KWH * (own_kw + brought_kw)
