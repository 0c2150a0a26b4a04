"""What has changed since crews were last told: the problem of the published plan beside today's.

Both are problems as the solver is given them, so that whatever would move a visit shows here and
whatever would not does not. Codes and values, never sentences (``since_wording.py``).
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Max

from finishing.models import Company, Crew, House
from scheduling.models import Pin, Plan, PlannedTask, PlanRun, Publication, Report
from scheduling.queries.edits import FOUND_THERE, edits_since, read_at
from scheduling.queries.plans import latest_publication
from scheduling.queries.runs import problem_parts
from scheduling.services.inputs import build_inputs
from scheduling.services.plan_inputs import PlanInputs
from scheduling.services.reported import stage_key_of
from scheduling.services.timeline import Timeline
from scheduling.services.wet_visits import WetVisit, wet_visits_by
from scheduling.solver.problem import Problem, Task
from scheduling.solver.serialize import problem_from_json

ONE_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Difference:
    """Something that is otherwise than when the published plan was made: a code and values."""

    code: str
    values: Mapping[str, Any]


@dataclass(frozen=True)
class SincePublished:
    """The revision that crews see, and what is otherwise since its plan was made."""

    publication: Publication
    differences: list[Difference]


@dataclass(frozen=True)
class _Hours:
    """A window of a crew: from when to when, how many people, what they can do between them."""

    start: datetime
    end: datetime
    heads: int
    skills: frozenset[str]
    is_extra: bool


type _Days = defaultdict[date, set[_Hours]]


@dataclass(frozen=True)
class _Told:
    """The problem of the published plan: until when it has work, and what of that is over."""

    problem: Problem
    timeline: Timeline
    until: datetime


def since_published(*, company: Company, now: datetime) -> SincePublished | None:
    """Return what has changed since the published plan was made; None where crews see none."""
    publication = latest_publication(company)
    if publication is None:
        return None
    inputs = build_inputs(company=company, now=now)
    visits = wet_visits_by(inputs, company=company, now=now)
    return since(publication, inputs, visits, now=now)


def since(
    publication: Publication, inputs: PlanInputs, visits: Sequence[WetVisit], *, now: datetime
) -> SincePublished | None:
    """Return the same by inputs of now and the visits that these say come too early.

    Crew hours are compared up to the end of the published work, as no plan says more of them.
    """
    plan = publication.plan
    if plan is None or plan.run_id is None:
        return None
    run = PlanRun.objects.get(pk=plan.run_id)
    company, told = publication.company, _told(plan, run)
    differences = [
        *_early(visits),
        *_said(company, run.plan_from),
        *_edited(company, plan),
        *_crew_hours(told, inputs, now),
        *_work(told, inputs, publication),
        *_promises(told, inputs),
    ]
    return SincePublished(publication, differences)


def _told(plan: Plan, run: PlanRun) -> _Told:
    problem = problem_from_json(problem_parts(run.pk))
    timeline = Timeline(datetime.fromisoformat(problem.origin).astimezone(UTC), problem.horizon)
    ends = PlannedTask.objects.filter(plan=plan).aggregate(last=Max("ends_at"))
    return _Told(problem, timeline, until=ends["last"] or plan.created_at)


def _early(visits: Sequence[WetVisit]) -> Iterator[Difference]:
    """Yield the visits that the newest air no longer fits."""
    for code, found in (
        ("wet_visits", [one for one in visits if one.coats]),
        ("unfit_visits", [one for one in visits if one.unfit]),
    ):
        if found:
            houses = dict.fromkeys(one.visit.house.name for one in found)
            yield Difference(code, {"visits": len(found), "houses": list(houses)})


def _said(company: Company, since: datetime) -> Iterator[Difference]:
    """Yield what crews have reported and the office has pinned since."""
    said = Report.objects.filter(company=company, said_at__gt=since).exclude(kind="started")
    for kind, count in sorted(Counter(said.values_list("kind", flat=True)).items()):
        yield Difference(f"said_{kind}", {"reports": count})
    pins = Pin.objects.filter(company=company, made_at__gt=since, ended_at=None).count()
    if pins:
        yield Difference("pinned", {"tasks": pins})


def _edited(company: Company, plan: Plan) -> Iterator[Difference]:
    """Yield the houses of which somebody has edited what crews find there: what it offers, who
    else has it, its hours and its air. Work and promises are compared as such."""
    edits = edits_since(company.pk, read_at(plan)).filter(what__in=FOUND_THERE)
    counts = edits.order_by().values_list("house__name").annotate(edits=Count("pk"))
    for house, count in sorted(counts):
        yield Difference("edited", {"house": house, "edits": count})


def _crew_hours(told: _Told, inputs: PlanInputs, now: datetime) -> Iterator[Difference]:
    """Yield the crews that have come or gone, those with more or fewer person-hours on days that
    were planned with, and those with as many at other times or with other skills."""
    crews = dict(inputs.crews)
    before = _windows_by_day(told.problem, told.timeline, crews, now, told.until)
    after = _windows_by_day(inputs.problem, inputs.timeline, crews, now, told.until)
    were = {crew.id for crew in told.problem.crews}
    for key in sorted(were - crews.keys()):
        if gone := inputs.retired.get(key):
            yield Difference("crew_gone", {"crew": gone.name})
    for key, crew in sorted(crews.items(), key=lambda item: item[1].name):
        if key in were:
            yield from _other_days(crew, before[key], after[key])
        else:
            yield Difference("crew_come", {"crew": crew.name})


def _other_days(crew: Crew, before: _Days, after: _Days) -> Iterator[Difference]:
    days = sorted(before.keys() | after.keys())
    hours = [(day, _person_hours(before[day]), _person_hours(after[day])) for day in days]
    if more_or_fewer := [one for one in hours if one[1] != one[2]]:
        yield Difference("crew_hours", {"crew": crew.name, "days": more_or_fewer})
    said = {day for day, _, _ in more_or_fewer}
    if other := [day for day in days if before[day] != after[day] and day not in said]:
        yield Difference("crew_times", {"crew": crew.name, "days": other})


def _person_hours(windows: Iterable[_Hours]) -> float:
    minutes = sum((one.end - one.start) // ONE_MINUTE * one.heads for one in windows)
    return minutes / 60


def _windows_by_day(
    problem: Problem,
    timeline: Timeline,
    crews: Mapping[str, Crew],
    now: datetime,
    until: datetime,
) -> defaultdict[str, _Days]:
    """Return by crew and local day its windows, days begun left out."""
    found: defaultdict[str, _Days] = defaultdict(lambda: defaultdict(set))
    for crew in problem.crews:
        if (row := crews.get(crew.id)) is None:
            continue
        zone = ZoneInfo(row.zone)
        first, last = now.astimezone(zone).date(), until.astimezone(zone).date()
        for window in crew.windows:
            start, end = timeline.instant(window.start), timeline.instant(window.end)
            day = start.astimezone(zone).date()
            if first < day <= last:
                skills = crew.skills - window.lacks
                hours = _Hours(start, end, window.heads, skills, is_extra=window.price > 0)
                found[crew.id][day].add(hours)
    return found


def _work(told: _Told, inputs: PlanInputs, publication: Publication) -> Iterator[Difference]:
    """Yield by house the work that has come, gone, or grown, as far as nobody has begun it."""
    assert publication.plan is not None
    names = _house_names(inputs.houses, publication)
    before = {task.id: task for task in told.problem.tasks if not _over(task, told, inputs)}
    after = {task.id: task for task in inputs.problem.tasks}
    come = _by_house(after[key] for key in after.keys() - {task.id for task in told.problem.tasks})
    gone = _by_house(
        before[key]
        for key in before.keys() - after.keys()
        if stage_key_of(key) not in inputs.work.done
    )
    both = before.keys() & after.keys()
    was = _by_house(before[key] for key in both)
    now_is = _by_house(after[key] for key in both)
    for house in sorted(names, key=lambda key: names[key]):
        for code, found in (("work_come", come), ("work_gone", gone)):
            if house in found:
                yield Difference(code, {"house": names[house], "hours": found[house] / 60})
        if was.get(house, 0) != now_is.get(house, 0):
            hours = {"before": was[house] / 60, "after": now_is[house] / 60}
            yield Difference("work_hours", {"house": names[house], **hours})


def _over(task: Task, told: _Told, inputs: PlanInputs) -> bool:
    """Return whether the published plan was made with the task fixed before now."""
    end = task.fixed.end if task.fixed else None
    return end is not None and told.timeline.instant(end) <= inputs.now


def _by_house(tasks: Iterable[Task]) -> Counter[str]:
    """Return person-minutes by house; those of the fastest crew where crews differ."""
    found: Counter[str] = Counter()
    for task in tasks:
        own = task.minutes_by_crew
        found[task.house] += min(own.values()) if own else task.person_minutes
    return found


def _house_names(houses: Mapping[str, House], publication: Publication) -> dict[str, str]:
    """Return the names of houses with work, then or now."""
    rows = House.objects.filter(company=publication.company_id)
    told = {str(row.public_id): row.name for row in rows}
    return {**told, **{key: house.name for key, house in houses.items()}}


def _promises(told: _Told, inputs: PlanInputs) -> Iterator[Difference]:
    """Yield the houses whose days of handover are others."""
    before, after = _days_due(told.problem), _days_due(inputs.problem)
    for key, house in sorted(inputs.houses.items(), key=lambda item: item[1].name):
        if key in before and key in after and before[key] != after[key]:
            days = {"before": sorted(before[key]), "after": sorted(after[key])}
            yield Difference("due", {"house": house.name, **days})


def _days_due(problem: Problem) -> defaultdict[str, set[str]]:
    found: defaultdict[str, set[str]] = defaultdict(set)
    for row in problem.handovers:
        found[row.house].add(row.id.rpartition(":")[2])
    return found
