"""Why part of a house is not in the plan: codes and values, for wording."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from finishing.models import Area, House
from finishing.rules.compounds import system_faults
from finishing.rules.vocabulary import COATS, Readiness, Stage
from scheduling.services.room_work import AFTER_HANDOVER, Settings


@dataclass(frozen=True)
class Hold:
    """Work that cannot be planned.

    Codes: the solver's (``scheduling.solver.outcome.Unplaced``), a jointing system's faults
    (``finishing.rules.compounds.system_faults``), and ``no_air`` (an empty
    source), ``which_air`` (no source), ``too_little_air`` (no record to be cautious by),
    ``not_ready``, ``too_cold``, and those of ``odd_figures``.
    """

    code: str
    house: House
    area: Area | None = None
    stages: tuple[str, ...] = ()
    lines: tuple[Readiness, ...] = ()
    job: str = ""
    tasks: int = 0
    heat_on_by: date | None = None

    @property
    def before_handover(self) -> bool:
        """Whether a promise hangs on it: touch-ups and odd jobs come after or beside one."""
        return not self.job and not (self.stages and set(self.stages) <= AFTER_HANDOVER)

    def as_json(self) -> dict[str, Any]:
        """Return the hold for ``Plan.holds``."""
        owed = {line.item: line.owed_by for line in self.house.readiness.all()}
        return {
            "code": self.code,
            "house": self.house.name,
            "house_id": str(self.house.public_id),
            "area": self.area.name if self.area else "",
            "stages": [str(stage) for stage in self.stages],
            "items": [{"item": str(line), "owed_by": owed.get(line, "")} for line in self.lines],
            "job": self.job,
            "tasks": self.tasks,
            "heat_on_by": self.heat_on_by.isoformat() if self.heat_on_by else None,
        }


def system_holds(area: Area, left: Collection[Stage], settings: Settings) -> list[Hold]:
    """Return what an area's jointing system may not do, for the stages still to come."""
    faults = system_faults(settings.system_for(area), settings.compounds, stages=frozenset(left))
    return [
        *(Hold(fault.code, area.house, area, (fault.values["stage"],)) for fault in faults),
        *(Hold(code, area.house, area) for code in _goes_over_softer(area, left, settings)),
    ]


def _goes_over_softer(area: Area, left: Collection[Stage], settings: Settings) -> tuple[str, ...]:
    """Return ``("hard_over_soft",)`` where the coat an area was entered with is too soft for a
    hard coat that its system still puts over it."""
    entered = getattr(area, "coat_done", None)
    if entered is None or entered.compound is None or entered.compound.hard:
        return ()
    compounds = settings.compounds_for(area)
    over = [compounds[stage] for stage in left if stage in COATS and stage in compounds]
    return ("hard_over_soft",) if any(compound.hard for compound in over) else ()
