"""Writing the house as it is: readiness, closures by others, odd jobs."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from finishing.models import Area, Closure, House, OddJob, ReadinessLine
from finishing.rules.vocabulary import Readiness, Skill
from finishing.services.rows import delete_others, put_row


@dataclass(frozen=True, slots=True)
class ReadyEntry:
    """A line of the readiness list; done None leaves what is known, or makes it open."""

    item: Readiness
    done: bool | None = None
    expected_on: date | None = None
    owed_by: str = ""


@dataclass(frozen=True, slots=True)
class ClosureEntry:
    """An area given to others from first_day to last_day, both included."""

    area: Area
    first_day: date
    last_day: date
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OddJobEntry:
    """A small task without joints; done None leaves what is known, or makes it open."""

    name: str
    person_minutes: int
    skill: Skill = Skill.ODD_JOBS
    done: bool | None = None


@dataclass(frozen=True, slots=True)
class SiteEntry:
    """All that is known of one house's site."""

    house: House
    ready: tuple[ReadyEntry, ...] = ()
    closures: tuple[ClosureEntry, ...] = ()
    odd_jobs: tuple[OddJobEntry, ...] = ()


@transaction.atomic
def put_site(*, site: SiteEntry) -> None:
    """Bring a house's readiness, closures and odd jobs in line with the entry.

    Those that the entry does not name are deleted.
    """
    house = site.house
    delete_others(house.readiness.all(), [_put_ready(house, line) for line in site.ready])
    closures = Closure.objects.filter(area__house=house)
    delete_others(closures, [_put_closure(closure) for closure in site.closures])
    delete_others(house.odd_jobs.all(), [_put_odd_job(house, job) for job in site.odd_jobs])


def _put_ready(house: House, line: ReadyEntry) -> ReadinessLine:
    return put_row(
        ReadinessLine,
        match={"company": house.company, "house": house, "item": line.item},
        values={
            "expected_on": line.expected_on,
            "owed_by": line.owed_by,
            **_if_known("done", line.done),
        },
    )


def _put_closure(closure: ClosureEntry) -> Closure:
    return put_row(
        Closure,
        match={
            "company": closure.area.company,
            "area": closure.area,
            "first_day": closure.first_day,
            "last_day": closure.last_day,
        },
        values={"reason": closure.reason},
    )


def _put_odd_job(house: House, job: OddJobEntry) -> OddJob:
    return put_row(
        OddJob,
        match={"company": house.company, "house": house, "name": job.name},
        values={
            "person_minutes": job.person_minutes,
            "skill": job.skill,
            **_if_known("done", job.done),
        },
    )


def _if_known(name: str, value: bool | None) -> dict[str, bool]:
    return {} if value is None else {name: value}
