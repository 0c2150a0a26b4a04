"""What a problem is made of, and what it is made from."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from finishing.models import Area, Company, Crew, Dryer, House, OddJob
from finishing.queries.air import RecentAir
from finishing.queries.air_sources import HouseSources
from finishing.rules.ensemble import Limits
from finishing.rules.vocabulary import Stage
from scheduling.services.air_layers import Hours
from scheduling.services.curves import Drying
from scheduling.services.done_work import DoneWork
from scheduling.services.dryer_stays import PlannedStay, Stays
from scheduling.services.dryers_in_air import Standing
from scheduling.services.holds import Hold
from scheduling.services.house_air import HouseAir
from scheduling.services.house_tasks import DoneWait
from scheduling.services.reported import PublishedTask
from scheduling.services.room_waits import StageWait
from scheduling.services.room_work import RoomStage
from scheduling.services.scenario_changes import ScenarioChange
from scheduling.services.timeline import Timeline
from scheduling.services.weather_shift import WeatherShift
from scheduling.solver.problem import Handover, Placement, Problem


@dataclass
class PlanInputs:
    """A problem with what is needed to read its answer back into rows.

    stage_waits: by stage key what a stage waits for, whether or not it is done.
    ends: by task key the tick at which it ends in the plan that the air is of.
    published: where the tasks are that crews have been told of and that have not ended.
    sources, drying, limits: what the air has to do with it: by house its sources, by curve what
    dries, by task what it asks of the temperature.
    work: what is done, under way and frozen. retired: crews that get no new work, and may have some
    under way. dryers: the company's, by id; stays: of theirs, in the problem and its air.
    delivered: by house (primary key) and stage the tick from which the material is there, where it
    is waited for. standing: all that stand in that air. recent: the stored air that it comes from.
    shifts: what is tried of the weather. imagined: crews (ids) that a scenario has, and the company
    has not.
    """

    now: datetime
    problem: Problem
    timeline: Timeline
    crews: Mapping[str, Crew]
    houses: Mapping[str, House]
    airs: Mapping[str, HouseAir]
    stages: Mapping[str, RoomStage]
    odd_jobs: Mapping[str, OddJob]
    done_waits: Mapping[str, DoneWait]
    stage_waits: Mapping[str, Sequence[StageWait]]
    unreported: Sequence[PublishedTask]
    pinned: frozenset[str]
    handovers: Mapping[str, Handover]
    areas_due: Mapping[str, list[Area]]
    held_handovers: Collection[str]
    ends: Mapping[str, int]
    published: Mapping[str, Placement]
    sources: Mapping[str, HouseSources]
    drying: Mapping[str, Drying]
    limits: Mapping[str, Limits]
    work: DoneWork
    retired: Mapping[str, Crew]
    recent: RecentAir
    dryers: Mapping[str, Dryer] = field(default_factory=dict)
    stays: Stays = field(default_factory=Stays)
    standing: Sequence[Standing] = ()
    holds: list[Hold] = field(default_factory=list)
    delivered: Mapping[tuple[int, str], int] = field(default_factory=dict)
    shifts: Sequence[WeatherShift] = ()
    imagined: frozenset[str] = frozenset()

    def crew(self, key: str) -> Crew:
        """Return a crew by its id, also one that gets no new work."""
        return self.crews.get(key) or self.retired[key]


@dataclass(frozen=True)
class WhatIf:
    """What is tried otherwise than it is: see ``Settings.swaps`` and ``Openings``; the air planned
    with in the place of the company's choice; the changes of a scenario (``tried_changes.py``);
    houses that the company has not, read as planning reads its own."""

    swaps: Mapping[tuple[int, Stage], str] = field(default_factory=dict)
    days_earlier: Mapping[int, int] = field(default_factory=dict)
    planned_air: Company.PlannedAir | None = None
    changes: tuple[ScenarioChange, ...] = ()
    more_houses: tuple[House, ...] = ()


AS_IT_IS = WhatIf()


@dataclass(frozen=True)
class WetHouses:
    """What makes the air of houses what it is, beside the weather.

    ends: by task key when a plan has it end; None for what crews have been told, or else for the
    working plan. slower: by coat (stage key) the progress of the air by which it dries, where it
    was found to dry more slowly than in the house's own air. stays: of dryers; None for those of
    the plan that the ends are of by default. standing: dryers beside those.
    """

    ends: Mapping[str, datetime] | None = None
    slower: Mapping[str, Hours] = field(default_factory=dict)
    stays: Sequence[PlannedStay] | None = None
    standing: Sequence[Standing] = ()


AS_LAST_PLANNED = WetHouses()
