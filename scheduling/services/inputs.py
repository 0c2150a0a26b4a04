"""Rows and rules become one problem for the solver."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time
from zoneinfo import ZoneInfo

from django.db.models import Q

from finishing.models import Area, Company, Holiday, House, OddJob
from finishing.queries.air import RecentAir
from finishing.queries.air_sources import CompanyAir, HouseSources
from finishing.queries.crews import crews_for_planning
from finishing.queries.houses import houses_for_planning
from finishing.rules.readiness import ODD_JOB
from scheduling.queries.pins import pins_to_come
from scheduling.queries.plans import ends_to_come, published_plan, working_plan
from scheduling.queries.reports import found_wet_by
from scheduling.services import calendars
from scheduling.services.cautious_air import CautiousAir
from scheduling.services.curves import CurveBook, ticks_for
from scheduling.services.done_work import DoneWork, done_work
from scheduling.services.dryer_stays import PlannedStay, Stays, dryers_of, standing_in, stays_of
from scheduling.services.dryers_in_air import Standing
from scheduling.services.holds import Hold, system_holds
from scheduling.services.house_air import HouseAir
from scheduling.services.house_climates import WantedAir, house_airs
from scheduling.services.house_tasks import AreaOnSite, HouseTasks, handover_key
from scheduling.services.house_thickness import first_look, house_looks
from scheduling.services.laid_coats import laid_coats
from scheduling.services.material_there import MaterialThere
from scheduling.services.odd_figures import odd_figures
from scheduling.services.openings import Openings
from scheduling.services.pinned import pinned_in_place
from scheduling.services.plan_inputs import AS_IT_IS, AS_LAST_PLANNED, PlanInputs, WetHouses, WhatIf
from scheduling.services.room_work import read_settings
from scheduling.services.source_histories import TooLittleAirError
from scheduling.services.stored_air import StoredAir, recent_air
from scheduling.services.surveys import AreaSurvey, HouseSurvey, survey
from scheduling.services.timeline import TICKS_PER_HOUR, local_instant, planning_timeline
from scheduling.services.travel import travel_ticks
from scheduling.services.tried_changes import Ground, make_changes
from scheduling.solver.problem import Handover, Problem, Task
from scheduling.solver.problem import House as SolverHouse


def build_inputs(
    *,
    company: Company,
    now: datetime,
    what_if: WhatIf = AS_IT_IS,
    wet: WetHouses = AS_LAST_PLANNED,
    only: House | None = None,
) -> PlanInputs:
    """Return the problem of a company as things stand at ``now`` (aware), or would if.

    only: the one of its houses that is wanted, to look at; what is planned is planned for all.
    """
    return _Builder(company, now, what_if, wet, only).build()


def done_so_far(*, company: Company, now: datetime) -> DoneWork:
    """Return what is done, under way and frozen of a company's published work at ``now``; of houses
    that are over, of what is to come alone and of what crews have said is done."""
    return _Builder(company, now).done


def _visits_that_count(now: datetime) -> Q:
    """Return which visits tell of work to plan: of houses that are over for good, those to come."""
    return Q(house__is_active=True) | Q(ends_at__gt=now)


class _Builder:
    """Gathers the parts of a problem, house by house."""

    def __init__(
        self,
        company: Company,
        now: datetime,
        what_if: WhatIf = AS_IT_IS,
        wet: WetHouses = AS_LAST_PLANNED,
        only: House | None = None,
    ) -> None:
        self.company = company
        self.now = now
        self.wet = wet
        self.only = only
        ground = self._ground(what_if, only)
        self.houses, self.dryers = ground.houses, ground.dryers
        self.shifts, self.imagined = ground.shifts, frozenset(ground.imagined)
        self.found_wet = found_wet_by(company, now)
        handovers = (house.handover_on for house in self.houses)
        self.timeline = planning_timeline(handovers, now, first_look(self.houses, self.found_wet))
        crews = ground.crews
        self.crews = [crew for crew in crews if crew.is_active]
        self.retired = [crew for crew in crews if not crew.is_active]
        holidays = frozenset(Holiday.objects.filter(company=company).values_list("day", flat=True))
        self.solver_crews = tuple(
            calendars.crew_for_solver(
                crew,
                self.timeline,
                holidays,
                ground.extra_hours.get(str(crew.public_id), ()),
                lends=str(crew.public_id) not in ground.imagined,
            )
            for crew in self.crews
        )
        self.settings = ground.settings
        self.book = CurveBook(company, self.timeline)
        self.gathered = HouseTasks(
            self.timeline,
            self.book,
            self.solver_crews,
            overhead_ticks=ticks_for(company.setup_minutes / 60)
            + ticks_for(company.washup_minutes / 60),
        )
        self.cautious = CautiousAir(self.timeline, now, self.shifts)
        self.planned_air = what_if.planned_air or company.planned_air
        self.openings = Openings(now, self.timeline, what_if.days_earlier)
        named = {compound.name: compound for compound in self.settings.compounds}
        zones = {str(crew.public_id): crew.zone for crew in crews}
        self.done: DoneWork = done_work(
            company=company,
            now=now,
            timeline=self.timeline,
            crews=self.solver_crews,
            compounds=named,
            zones=zones,
            among=_visits_that_count(now),
        )
        self.ends = self._planned_ends()
        self.stays = self._planned_stays()
        self.pins = list(pins_to_come(company, now))
        self.handovers: dict[str, Handover] = {}
        self.areas_due: dict[str, list[Area]] = {}
        self.held_handovers: set[str] = set()
        self.airs: dict[str, HouseAir] = {}
        self.sources: dict[str, HouseSources] = {}
        self.odd_jobs: dict[str, OddJob] = {}
        self.standing: list[Standing] = []
        self.holds: list[Hold] = []
        self.delivered: dict[tuple[int, str], int] = {}

    def _ground(self, what_if: WhatIf, only: House | None) -> Ground:
        houses = houses_for_planning(self.company)
        own = houses.filter(pk=only.pk) if only else houses
        ground = Ground(
            houses=[*own, *what_if.more_houses],
            crews=crews_for_planning(self.company),
            settings=replace(read_settings(self.company), swaps=what_if.swaps),
            dryers=dryers_of(self.company),
        )
        return make_changes(ground, what_if.changes)

    def build(self) -> PlanInputs:
        air = CompanyAir(self.company)
        sources = [air.of(house) for house in self.houses]
        recent = recent_air((source for of_house in sources for source in of_house), self.timeline)
        surveyed = [
            found
            for house, of_house in zip(self.houses, sources, strict=True)
            if (found := self._survey(house, of_house, recent))
        ]
        self.delivered = self._delivered(surveyed)
        for site, house_air in zip(surveyed, self._airs(surveyed), strict=True):
            self._add_house(site, house_air)
        problem = self._problem()
        stays = Stays.among(self.stays, self.dryers, problem)
        return PlanInputs(
            now=self.now,
            problem=stays.in_problem(problem, self.dryers),
            timeline=self.timeline,
            crews={str(crew.public_id): crew for crew in self.crews},
            houses={str(house.public_id): house for house in self.houses},
            airs=self.airs,
            stages=self.gathered.stages,
            odd_jobs=self.odd_jobs,
            done_waits=self.gathered.done_waits,
            stage_waits=self.gathered.stage_waits,
            unreported=self.done.unreported,
            pinned=frozenset(pin.key for pin in self.pins),
            handovers=self.handovers,
            areas_due=self.areas_due,
            held_handovers=self.held_handovers,
            ends=self.ends,
            published=self.done.to_come,
            sources=self.sources,
            drying=self.book.drying,
            limits=self.gathered.limits,
            work=self.done,
            retired={str(crew.public_id): crew for crew in self.retired},
            recent=recent,
            dryers=self.dryers,
            stays=stays,
            standing=self.standing,
            holds=self.holds,
            delivered=self.delivered,
            shifts=self.shifts,
            imagined=self.imagined,
        )

    def _planned_ends(self) -> dict[str, int]:
        """Return by task key the tick at which it ends, in the plan that the air is to be of."""
        if self.wet.ends is None and self.done.to_come:
            return {key: place.end for key, place in self.done.to_come.items()}
        ends = ends_to_come(self.company, self.now) if self.wet.ends is None else self.wet.ends
        return {key: self.timeline.tick_after(end) for key, end in ends.items()}

    def _planned_stays(self) -> Sequence[PlannedStay]:
        if self.wet.stays is not None or not self.dryers:
            return self.wet.stays or ()
        told = self.done.to_come or self.done.done
        return stays_of(published_plan(self.company) if told else working_plan(self.company))

    def _problem(self) -> Problem:
        tasks = self._tasks_in_place()
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
            setup_ticks=ticks_for(self.company.setup_minutes / 60),
            washup_ticks=ticks_for(self.company.washup_minutes / 60),
            worthwhile_ticks=ticks_for(self.company.worthwhile_minutes / 60),
            another_crew=self.company.another_crew_visits,
        )

    def _tasks_in_place(self) -> tuple[Task, ...]:
        """Return the tasks, fixed where they are under way, pinned or frozen."""
        tasks = self.done.kept_in_place(self.gathered.tasks_beside_done_coats())
        begun = {task.key for rows in self.done.started.values() for task in rows}
        return tuple(pinned_in_place(tasks, self.pins, self.solver_crews, self.timeline, begun))

    def _survey(self, house: House, sources: HouseSources, recent: RecentAir) -> HouseSurvey | None:
        """Look at a house; one without air is on hold, but for its odd jobs."""
        for job in house.odd_jobs.all():
            self._add_odd_job(house, job)
        if odd := odd_figures(house):
            self._hold_whole(house, *odd)
            return None
        stored = StoredAir(sources, self.timeline, self.now, recent, self.shifts)
        weather = stored.weather()
        if weather is None:
            self._hold_whole(house, "no_air" if any(sources) else "which_air")
            return None
        areas = [self._area(area) for area in house.areas.all()]
        coats = tuple(
            coat
            for found in areas
            for _, stages in found.rooms
            for coat in laid_coats(found.area, stages, found.done, self.ends)
        )
        return HouseSurvey(house, sources, areas, WantedAir(house, stored, weather, coats))

    def _delivered(self, surveyed: Sequence[HouseSurvey]) -> dict[tuple[int, str], int]:
        """Return by house and stage the first tick of the day on which its material is there. All
        houses are served from one store, so all are looked at whichever is wanted."""
        there = MaterialThere(self.company, self.now, self.settings)
        if not there.awaited:
            return {}
        known = {site.house.pk: site.areas for site in surveyed}
        sites = [
            (house, known.get(house.pk) or [self._area(area) for area in house.areas.all()])
            for house in (houses_for_planning(self.company) if self.only else self.houses)
        ]
        zones = {house.pk: ZoneInfo(house.zone) for house, _ in sites}
        return {
            (house, stage): self.timeline.tick_after(local_instant(day, time.min, zones[house]))
            for (house, stage), day in there.first_days(sites).items()
        }

    def _area(self, area: Area) -> AreaSurvey:
        return survey(area, self.settings, self.done)

    def _airs(self, surveyed: Sequence[HouseSurvey]) -> list[HouseAir]:
        self.standing = [*self._standing(surveyed), *self.wet.standing]
        airs = house_airs(
            [site.wanted for site in surveyed],
            self.timeline,
            now_hour=self.timeline.tick_before(self.now) // TICKS_PER_HOUR,
            standing=self.standing,
        )
        return [
            replace(
                air,
                slower=self.wet.slower,
                looks=house_looks(site.areas, air.progress, self.timeline, self.found_wet),
            )
            for site, air in zip(surveyed, airs, strict=True)
        ]

    def _standing(self, surveyed: Sequence[HouseSurvey]) -> list[Standing]:
        """Return the dryers that stand somewhere; whoever has been there has emptied them."""
        houses = surveyed if self.dryers else ()
        visited = {str(one.house.public_id): one.visited_hours(self.ends) for one in houses}
        return standing_in(self.stays, self.dryers, self.ends, self.timeline, visited)

    def _add_house(self, site: HouseSurvey, air: HouseAir) -> None:
        house, sources = site.house, site.sources
        if self.planned_air == Company.PlannedAir.EIGHT_IN_TEN:
            try:
                air = self.cautious.of(house, sources, air)
            except TooLittleAirError:
                self._hold_whole(house, "too_little_air")
                return
        self.airs[str(house.public_id)] = air
        self.sources[str(house.public_id)] = sources
        for found in site.areas:
            held_before = len(self.holds)
            handover = self._handover(house, found.area)
            self._add_area(house, found, air, handover)
            if any(hold.before_handover for hold in self.holds[held_before:]):
                self.held_handovers.add(handover)

    def _hold_whole(self, house: House, *codes: str) -> None:
        self.holds.extend(Hold(code, house) for code in codes)
        for area in house.areas.all():
            self.held_handovers.add(self._handover(house, area))

    def _add_area(self, house: House, found: AreaSurvey, air: HouseAir, handover: str) -> None:
        area, left = found.area, found.left
        if faults := system_holds(area, left, self.settings):
            self.holds.extend(faults)
            return
        release, waiting = self.openings.of(house, left)
        for stage in release:
            release[stage] = max(release[stage], self.delivered.get((house.pk, stage), 0))
        site = AreaOnSite(
            area=area,
            air=air,
            handover=handover,
            release=release,
            open=calendars.open_spans(area, self.timeline),
            done=found.done,
            started=self.done.started,
            open_parts=self.done.open_parts,
            rechecks=self.done.rechecks,
        )
        for _, stages in found.rooms:
            ahead = [stage for stage in stages if stage.stage in release or stage.stage not in left]
            self.gathered.add_room(site, ahead)
        for lines, stages_waiting in waiting.items():
            self.holds.append(
                Hold("not_ready", house, area, stages=tuple(stages_waiting), lines=lines)
            )

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
        release, waiting = self.openings.of(house, [ODD_JOB])
        if waiting:
            self.holds.append(Hold("not_ready", house, lines=next(iter(waiting)), job=job.name))
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
