"""Rows and rules become one problem for the solver."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from finishing.models import AirSource, Area, Company, Crew, Holiday, House, OddJob
from finishing.queries.air import only_station
from finishing.queries.houses import houses_for_planning
from finishing.rules.compounds import system_faults
from finishing.rules.readiness import ODD_JOB, needs
from finishing.rules.vocabulary import Readiness, Stage
from scheduling.services import calendars
from scheduling.services.curves import CurveBook
from scheduling.services.done_work import DoneWork, done_work
from scheduling.services.holds import Hold, goes_over_softer
from scheduling.services.house_air import HouseAir, house_air
from scheduling.services.house_tasks import AreaOnSite, HouseTasks, handover_key
from scheduling.services.room_work import RoomStage, read_settings, room_stages
from scheduling.services.timeline import Timeline, local_instant
from scheduling.services.travel import travel_ticks
from scheduling.solver.problem import TICK_MINUTES, Handover, Problem, Task
from scheduling.solver.problem import House as SolverHouse

LOOK_BACK = timedelta(days=14)
"""Before now, for coats that still dry and for the 48 hours of warmth before a coat."""
LOOK_AHEAD = timedelta(weeks=8)
BEYOND_LAST_HANDOVER = timedelta(weeks=3)
LONGEST = timedelta(weeks=26)


@dataclass
class PlanInputs:
    """A problem with what is needed to read its answer back into rows."""

    problem: Problem
    timeline: Timeline
    crews: Mapping[str, Crew]
    houses: Mapping[str, House]
    airs: Mapping[str, HouseAir]
    stages: Mapping[str, RoomStage]
    odd_jobs: Mapping[str, OddJob]
    areas_due: Mapping[str, list[Area]]
    holds: list[Hold] = field(default_factory=list)


def build_inputs(*, company: Company, now: datetime) -> PlanInputs:
    """Return the problem of a company as things stand at ``now`` (aware)."""
    return _Builder(company, now).build()


class _Builder:
    """Gathers the parts of a problem, house by house."""

    def __init__(self, company: Company, now: datetime) -> None:
        self.company = company
        self.now = now
        self.houses = list(houses_for_planning(company))
        self.timeline = _timeline(self.houses, now)
        self.crews = list(
            Crew.objects.filter(company=company).prefetch_related("hours", "members", "days_off")
        )
        holidays = frozenset(Holiday.objects.filter(company=company).values_list("day", flat=True))
        self.solver_crews = tuple(
            calendars.crew_for_solver(crew, self.timeline, holidays) for crew in self.crews
        )
        self.settings = read_settings(company)
        self.book = CurveBook(company, self.timeline)
        self.gathered = HouseTasks(
            self.timeline,
            self.book,
            self.solver_crews,
            overhead_ticks=_ticks(company.setup_minutes) + _ticks(company.washup_minutes),
        )
        self.done: DoneWork = done_work(company, now, self.timeline)
        self.handovers: dict[str, Handover] = {}
        self.areas_due: dict[str, list[Area]] = {}
        self.airs: dict[str, HouseAir] = {}
        self.odd_jobs: dict[str, OddJob] = {}
        self.holds: list[Hold] = []

    def build(self) -> PlanInputs:
        station = only_station(self.company)
        for house in self.houses:
            self._add_house(house, house.air_source or station)
        return PlanInputs(
            problem=self._problem(),
            timeline=self.timeline,
            crews={str(crew.public_id): crew for crew in self.crews},
            houses={str(house.public_id): house for house in self.houses},
            airs=self.airs,
            stages=self.gathered.stages,
            odd_jobs=self.odd_jobs,
            areas_due=self.areas_due,
            holds=self.holds,
        )

    def _problem(self) -> Problem:
        tasks = tuple(self.done.kept_in_place(self.gathered.tasks))
        counted = {task.handover for task in tasks}
        return Problem(
            origin=self.timeline.origin.isoformat(),
            horizon=self.timeline.horizon,
            crews=self.solver_crews,
            houses=tuple(
                SolverHouse(str(house.public_id), calendars.access_spans(house, self.timeline))
                for house in self.houses
            ),
            tasks=tasks,
            handovers=tuple(row for row in self.handovers.values() if row.id in counted),
            waits=tuple(self.gathered.waits),
            curves=self.book.curves,
            travel=travel_ticks(self.houses, self.company.travel_minutes),
            now=self.timeline.tick_after(self.now),
            setup_ticks=_ticks(self.company.setup_minutes),
            washup_ticks=_ticks(self.company.washup_minutes),
            worthwhile_ticks=_ticks(self.company.worthwhile_minutes),
        )

    def _add_house(self, house: House, source: AirSource | None) -> None:
        for job in house.odd_jobs.all():
            self._add_odd_job(house, job)
        air = house_air(house, source, self.timeline)
        if air is None:
            self.holds.append(Hold("no_air" if source else "which_air", house))
            return
        self.airs[str(house.public_id)] = air
        for area in house.areas.all():
            self._add_area(house, area, air)

    def _add_area(self, house: House, area: Area, air: HouseAir) -> None:
        rooms = [(room, room_stages(room, area, self.settings)) for room in area.rooms.all()]
        every_stage = sorted(
            {stage.stage for _, stages in rooms for stage in stages}, key=list(Stage).index
        )
        if faults := self._system_holds(house, area, every_stage):
            self.holds.extend(faults)
            return
        release, waiting_for = self._releases(house, every_stage)
        site = AreaOnSite(
            area=area,
            air=air,
            handover=self._handover(house, area),
            release=release,
            open=calendars.open_spans(area, self.timeline),
            done=self.done.stages_of(area, [room for room, _ in rooms]),
        )
        for room, stages in rooms:
            can_be_planned = [stage for stage in stages if stage.stage in release]
            self.gathered.add_room(site, room, can_be_planned)
        for stage, lines in waiting_for.items():
            self.holds.append(Hold("not_ready", house, area, stages=(stage,), lines=lines))

    def _system_holds(self, house: House, area: Area, stages: Iterable[Stage]) -> list[Hold]:
        """Return what the area's jointing system may not do, for the stages it is used in."""
        faults = system_faults(
            self.settings.system_for(area), self.settings.compounds, stages=frozenset(stages)
        )
        return [
            *(Hold(fault.code, house, area, (fault.values["stage"],)) for fault in faults),
            *(Hold(code, house, area) for code in goes_over_softer(area, self.settings)),
        ]

    def _releases(
        self, house: House, stages: Iterable[str]
    ) -> tuple[dict[str, int], dict[str, tuple[Readiness, ...]]]:
        """Return the first tick of each stage that has one, and what the others wait for.

        A line expected on a day is there from the next morning. A stage after one that cannot
        be planned cannot be planned either.
        """
        zone = ZoneInfo(house.zone)
        start = self.timeline.tick_after(self.now)
        if house.opens_on:
            start = max(
                start, self.timeline.tick_after(local_instant(house.opens_on, time.min, zone))
            )
        lines = {Readiness(line.item): line for line in house.readiness.all()}
        release: dict[str, int] = {}
        waiting: dict[str, tuple[Readiness, ...]] = {}
        for stage in stages:
            owed = [item for item in sorted(needs(stage)) if item in lines and not lines[item].done]
            undated = tuple(item for item in owed if lines[item].expected_on is None)
            if (line := _NEEDS_A_LINE.get(stage)) and line not in lines:
                undated = (*undated, line)
            if undated or waiting:
                waiting[stage] = undated or next(iter(waiting.values()))
                continue
            expected = [
                self.timeline.midnight_after(day, zone)
                for item in owed
                if (day := lines[item].expected_on)
            ]
            release[stage] = max([start, *expected])
        return release, waiting

    def _handover(self, house: House, area: Area) -> str:
        due_on = area.handover_on or house.handover_on
        key = handover_key(house, due_on)
        due = self.timeline.midnight_after(due_on, ZoneInfo(house.zone))
        self.handovers[key] = Handover(key, str(house.public_id), due, house.weight)
        self.areas_due.setdefault(key, []).append(area)
        return key

    def _add_odd_job(self, house: House, job: OddJob) -> None:
        key = f"{job.public_id}:{ODD_JOB}"
        if job.done or self.done.is_done(key):
            return
        release, waiting = self._releases(house, [ODD_JOB])
        if waiting:
            self.holds.append(Hold("not_ready", house, lines=waiting[ODD_JOB], job=job.name))
            return
        self.odd_jobs[key] = job
        self.gathered.tasks.append(
            Task(
                id=key,
                house=str(house.public_id),
                room=str(job.public_id),
                person_minutes=job.person_minutes,
                skills=frozenset({job.skill}),
                release=release[ODD_JOB],
            )
        )


_NEEDS_A_LINE: Mapping[str, Readiness] = {
    Stage.PRIMER_TOUCH_UP: Readiness.PRIMED,
    Stage.TRADES_TOUCH_UP: Readiness.TRADES_DONE,
}
"""Stages that come after work of others: without a line that says when, they cannot be planned."""


def _ticks(minutes: int) -> int:
    return -(-minutes // TICK_MINUTES)


def _timeline(houses: list[House], now: datetime) -> Timeline:
    """Return ticks from two weeks before now to eight after it, or past the last handover."""
    origin = (now - LOOK_BACK).astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    last = max((house.handover_on for house in houses), default=now.date())
    wanted = datetime.combine(last, time.min, UTC) + BEYOND_LAST_HANDOVER
    end = min(max(now + LOOK_AHEAD, wanted), now + LONGEST)
    hours = (end - origin) // timedelta(hours=1)
    return Timeline(origin, hours * (60 // TICK_MINUTES))
