"""Why part of a house is not in the plan: codes and values, for wording."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from finishing.models import Area, House
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.services.room_work import Settings


@dataclass(frozen=True)
class Hold:
    """Work that cannot be planned.

    Codes: the solver's (``scheduling.solver.outcome.Unplaced``), a jointing system's faults
    (``finishing.rules.compounds.system_faults``), and ``no_air`` (an empty
    source), ``which_air`` (no source), ``not_ready``, ``too_cold``.
    """

    code: str
    house: House
    area: Area | None = None
    stages: tuple[str, ...] = ()
    lines: tuple[Readiness, ...] = ()
    job: str = ""
    tasks: int = 0
    heat_on_by: date | None = None

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


def goes_over_softer(area: Area, settings: Settings) -> tuple[str, ...]:
    """Return ``("hard_over_soft",)`` where the coat an area was entered with is too soft for the
    hard coats its system still puts over it."""
    entered = getattr(area, "coat_done", None)
    if entered is None or entered.compound is None or entered.compound.hard:
        return ()
    later = list(Stage)[list(Stage).index(Stage(entered.stage)) + 1 :]
    compounds = settings.compounds_for(area)
    hard = any(compounds[stage].hard for stage in later if stage in compounds and stage in _COATING)
    return ("hard_over_soft",) if hard else ()


_COATING = frozenset({Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.OTHER_FACE, Stage.SKIM})
