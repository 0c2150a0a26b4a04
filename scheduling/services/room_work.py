"""What has to be done in a room, stage by stage: the trade's rules applied to its rows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from django.db.models import Prefetch

from finishing.models import (
    Area,
    Company,
    Compound,
    House,
    JointingSystem,
    LabourRate,
    Room,
    Supply,
    Surface,
    SystemStage,
)
from finishing.queries.compounds import compound_rule, system_rule
from finishing.queries.levels import level_code
from finishing.rules import vocabulary as trade
from finishing.rules.coats import StageWork, stage_plan
from finishing.rules.compounds import NEEDS_COMPOUND, System
from finishing.rules.labour import DEFAULT_RATES, Rate, person_minutes
from finishing.rules.levels import coats_for
from finishing.rules.supplies import USED_PER_UNIT, SupplyKind
from finishing.rules.used_up import TAPES
from finishing.rules.vocabulary import CornerTool, Family, JointKind, RoomKind, Stage, Tape

ORDER = tuple(Stage)
"""Stages in order of doing."""
AFTER_HANDOVER = frozenset({Stage.PRIMER_TOUCH_UP, Stage.TRADES_TOUCH_UP})


def stage_key(room: Room, stage: Stage) -> str:
    """Return the key of a room's stage; it survives takeoff edits and replans."""
    return f"{room.public_id}:{stage}"


@dataclass(frozen=True)
class SurfaceWork:
    """What a stage does to one surface: the shares of its quantities (m, each; m2 for SURFACE)."""

    surface: Surface
    work: StageWork
    quantities: Mapping[JointKind, float]

    @property
    def is_ceiling(self) -> bool:
        return self.surface.part == Surface.Part.CEILING


@dataclass(frozen=True)
class RoomStage:
    """One stage of a room over all its surfaces, ceilings first. rates: those of its minutes.
    tape, tape_per_m: which is used, and the metres of it that a metre of joint takes."""

    room: Room
    stage: Stage
    surfaces: tuple[SurfaceWork, ...]
    compound: trade.Compound | None
    person_minutes: int
    rates: tuple[Rate, ...] = ()
    tape: Tape = Tape.PAPER
    tape_per_m: float = 1.0

    @property
    def key(self) -> str:
        return stage_key(self.room, self.stage)

    @property
    def is_coat(self) -> bool:
        """Whether it leaves water all over the room."""
        return self.stage in trade.COATS

    @property
    def hardens(self) -> bool:
        """Whether it puts on anything that has to set or dry."""
        return self.compound is not None and self.stage in NEEDS_COMPOUND


@dataclass(frozen=True)
class Settings:
    """What a company has set, as the rules want it; read once for all houses.

    swaps: by house (primary key) and stage the name of a compound tried instead of the system's.
    used_per_unit: of supplies, as the company buys them.
    """

    company: Company
    rates: tuple[Rate, ...]
    compounds: tuple[trade.Compound, ...]
    systems: Mapping[int, System]
    default_system: int | None
    used_per_unit: Mapping[SupplyKind, float]
    swaps: Mapping[tuple[int, Stage], str] = field(default_factory=dict)

    def stages_at(self, surface: Surface) -> frozenset[Stage]:
        """Return the stages switched on for a surface's level."""
        off = self.company.stages_off_by_level.get(level_code(surface.family, surface.level), [])
        return frozenset(Stage(code) for code in self.company.stages if code not in off)

    def system_for(self, area: Area) -> System:
        """Return an area's jointing system: its own, its house's or the company's."""
        chosen = area.system_id or area.house.system_id or self.default_system
        system = self.systems[chosen] if chosen else System("", {})
        tried = {
            stage: name for (house, stage), name in self.swaps.items() if house == area.house_id
        }
        return replace(system, by_stage={**system.by_stage, **tried}) if tried else system

    def bought_per_m(self, tape: Tape) -> float:
        """Return the metres of a tape that are bought for a metre of joint."""
        return self.used_per_unit[TAPES[tape]]

    def compounds_for(self, area: Area) -> dict[Stage, trade.Compound]:
        """Return the compounds of an area's system by stage."""
        by_name = {compound.name: compound for compound in self.compounds}
        return {
            stage: by_name[name]
            for stage, name in self.system_for(area).by_stage.items()
            if name in by_name
        }


def read_settings(company: Company) -> Settings:
    """Return a company's settings: its compounds, systems and rates over the defaults."""
    systems = JointingSystem.objects.filter(company=company)
    lines = SystemStage.objects.select_related("compound")
    rows = list(systems.prefetch_related(Prefetch("stage_rows", lines)))
    own = {(row.stage, row.kind): row for row in LabourRate.objects.filter(company=company)}
    return Settings(
        company=company,
        rates=tuple(_rate(rate, own.get((rate.stage, rate.kind))) for rate in DEFAULT_RATES),
        compounds=tuple(compound_rule(row) for row in Compound.objects.filter(company=company)),
        systems={row.pk: system_rule(row) for row in rows},
        default_system=next((row.pk for row in rows if row.is_default), None),
        used_per_unit={**USED_PER_UNIT, **_own_use(company)},
    )


def _own_use(company: Company) -> dict[SupplyKind, float]:
    own = Supply.objects.filter(company=company)
    return {SupplyKind(kind): used for kind, used in own.values_list("kind", "used_per_unit")}


def _rate(default: Rate, own: LabourRate | None) -> Rate:
    if own is None:
        return default
    return replace(default, minutes=own.minutes, source=own.source, dated=own.dated)


def room_stages(room: Room, area: Area, settings: Settings) -> list[RoomStage]:
    """Return the stages of a room in order of doing."""
    surfaces = [(surface, surface_quantities(surface)) for surface in room.surfaces.all()]
    return stages_of(room, surfaces, area, settings)


def stages_of(
    room: Room,
    surfaces: Iterable[tuple[Surface, Mapping[JointKind, float]]],
    area: Area,
    settings: Settings,
) -> list[RoomStage]:
    """Return the stages of a room in order of doing, from its surfaces with their quantities; the
    rows of the room and its surfaces need not be stored."""
    per_stage: dict[Stage, list[SurfaceWork]] = {}
    for surface, quantities in sorted(surfaces, key=lambda pair: pair[0].part):
        for part in _surface_work(surface, quantities, area.house, settings):
            per_stage.setdefault(part.work.stage, []).append(part)
    if Stage.FINISH in per_stage:  # another surface's finish coat brings the second faces along
        per_stage[Stage.FINISH] += per_stage.pop(Stage.OTHER_FACE, [])
    compounds, tape = settings.compounds_for(area), settings.system_for(area).tape
    return [
        RoomStage(
            room,
            stage,
            tuple(per_stage[stage]),
            compounds.get(stage),
            _minutes(room, per_stage[stage], settings.rates),
            settings.rates,
            tape,
            settings.bought_per_m(tape),
        )
        for stage in ORDER
        if stage in per_stage
    ]


def _surface_work(
    surface: Surface, quantities: Mapping[JointKind, float], house: House, settings: Settings
) -> Iterable[SurfaceWork]:
    works = stage_plan(
        coats_for(Family(surface.family), surface.level),
        corner=CornerTool(house.corner_tool),
        has=quantities,
        enabled=settings.stages_at(surface),
        cornice_m=surface.cornice_m,
        tiled_later=surface.tiled_later,
        deep_gap_share=settings.company.gap_share,
    )
    for work in works:
        if work.cornice_m > 0 or any(quantities.get(kind, 0) > 0 for kind in work.kinds):
            yield SurfaceWork(surface, work, quantities)


def surface_quantities(surface: Surface) -> dict[JointKind, float]:
    """Return a surface's metres by joint kind, its fastener heads and its m2."""
    quantities = {JointKind(line.kind): line.metres for line in surface.joints.all()}
    quantities[JointKind.FASTENERS] = float(surface.fasteners)
    quantities[JointKind.SURFACE] = surface.area_m2
    return {kind: amount for kind, amount in quantities.items() if amount > 0}


def _minutes(room: Room, works: list[SurfaceWork], rates: tuple[Rate, ...]) -> int:
    total = sum(
        person_minutes(
            part.work,
            part.quantities,
            area_m2=part.surface.area_m2,
            is_ceiling=part.is_ceiling,
            height_m=room.height_m or 0.0,
            is_stairwell=room.kind == RoomKind.STAIRWELL,
            rates=rates,
        )
        for part in works
    )
    return max(1, -int(-total // 1))
