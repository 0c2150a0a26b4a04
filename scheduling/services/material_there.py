"""From when the material of each house's work is there, where plans wait for it.

A house's stage is closed until what it and all the house's other work use of an item is there:
houses are served in the order of their handovers, whatever a plan says, so that this does not
depend on the plan that is to be made from it.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from finishing.models import Company, House
from finishing.queries.materials import Item, read_catalogue
from finishing.rules.materials import stage_material
from finishing.rules.ordering import Arrival, first_day_there
from finishing.rules.used_up import Worked, units_used
from finishing.rules.vocabulary import Hardening, JointKind, Stage, Tape
from scheduling.services.material_uses import VisitReader, beads_stage
from scheduling.services.material_visits import today_of
from scheduling.services.room_work import RoomStage, Settings
from scheduling.services.stock_now import Store, stock_now
from scheduling.services.surveys import AreaSurvey

type Key = tuple[int, Stage]
type Site = tuple[House, Sequence[AreaSurvey]]


class MaterialThere:
    """Answers for a company at the moment of planning; nothing is read of the store, and nothing
    is closed, where plans wait for nothing."""

    def __init__(self, company: Company, now: datetime, settings: Settings) -> None:
        self.settings = settings
        self.today = today_of(company, now)
        self.beads_with = beads_stage(company)
        catalogue = read_catalogue(company)
        self.awaited = [item for item in catalogue.items if item.awaited and item.lead_days]
        self.by_compound = catalogue.by_compound
        self.by_kind = catalogue.by_kind
        self.store = Store((), {})
        if self.awaited:
            reader = VisitReader(company, catalogue)
            self.store = stock_now(reader, until=now, now=now)

    def first_days(self, sites: Iterable[Site]) -> dict[Key, date]:
        """Return by house (primary key) and stage the day from which its material is there, of
        stages for which it is not there today. sites: all houses with work, whichever is wanted."""
        sites = sorted(sites, key=lambda site: (site[0].handover_on, site[0].pk))
        used = [self._used(areas) for _, areas in sites]
        found: dict[Key, date] = {}
        arrivals = self.store.arrivals()
        for item in self.awaited:
            in_vans = Arrival(self.today.toordinal(), self.store.open.get(item.key, 0.0))
            days = first_day_there(
                [sum(of_house.get(item, {}).values()) for of_house in used],
                [in_vans, *arrivals.get(item.key, ())],
                today=self.today.toordinal(),
                lead_days=item.lead_days,
            )
            for (house, _), of_house, ordinal in zip(sites, used, days, strict=True):
                for stage in of_house.get(item, {}) if ordinal > self.today.toordinal() else ():
                    key = (house.pk, stage)
                    found[key] = max(found.get(key, date.min), date.fromordinal(ordinal))
        return found

    def _used(self, areas: Iterable[AreaSurvey]) -> dict[Item, dict[Stage, float]]:
        """Return by item and stage what is left to do in a house uses."""
        found: defaultdict[Item, dict[Stage, float]] = defaultdict(dict)
        for area in areas:
            tape = self.settings.system_for(area.area).tape
            for stage in (stage for _, stages in area.rooms for stage in stages):
                if (over := area.done.get(stage.key)) and over.whole:
                    continue
                done = min(1.0, over.minutes / max(1, stage.person_minutes)) if over else 0.0
                for item, amount in self._of_stage(stage, tape):
                    by_stage = found[item]
                    by_stage[stage.stage] = by_stage.get(stage.stage, 0.0) + (1 - done) * amount
        return found

    def _of_stage(self, stage: RoomStage, tape: Tape) -> Iterable[tuple[Item, float]]:
        if stage.compound and (item := self.by_compound.get(stage.compound.name)):
            parts = [
                stage_material(
                    part.work,
                    part.quantities,
                    area_m2=part.surface.area_m2,
                    compound=stage.compound,
                )
                for part in stage.surfaces
            ]
            sets = stage.compound.hardening is Hardening.SETS
            powder = sum(part.powder_kg for part in parts) if sets else 0.0
            yield item, powder or sum(part.kg for part in parts)
        beads_now = stage.stage is self.beads_with
        used = units_used(stage.stage, _worked(stage), tape=tape, beads_now=beads_now)
        for kind, units in used.items():
            if item := self.by_kind.get(kind):
                yield item, units * item.used_per_unit


def _worked(stage: RoomStage) -> Iterable[Worked]:
    for part in stage.surfaces:
        for kind, share in part.work.kinds.items():
            plastic = kind is JointKind.EXTERNAL and part.surface.plastic_beads
            yield Worked(kind, part.quantities.get(kind, 0.0) * share, plastic)
