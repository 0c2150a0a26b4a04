"""Writing the house as it is: readiness, closures by others, odd jobs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from finishing.models import Area, Closure, Company, House, OddJob, ReadinessLine
from finishing.rules.vocabulary import Readiness, Skill
from finishing.services.many_rows import Wanted, put_only


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
def put_sites(*, company: Company, sites: Sequence[SiteEntry]) -> None:
    """Bring the readiness, closures and odd jobs of houses in line with their entries.

    Those that an entry does not name are deleted. Raises ValidationError.
    """
    houses = [site.house for site in sites]
    ready = [_ready(company, site.house, line) for site in sites for line in site.ready]
    put_only(ReadinessLine.objects.filter(house__in=houses), ready)
    closures = [_closure(company, closure) for site in sites for closure in site.closures]
    put_only(Closure.objects.filter(area__house__in=houses), closures)
    jobs = [_odd_job(company, site.house, job) for site in sites for job in site.odd_jobs]
    put_only(OddJob.objects.filter(house__in=houses), jobs)


def _ready(company: Company, house: House, line: ReadyEntry) -> Wanted:
    return Wanted(
        {"company": company, "house": house, "item": line.item},
        {
            "expected_on": line.expected_on,
            "owed_by": line.owed_by,
            **_if_known("done", line.done),
        },
    )


def _closure(company: Company, closure: ClosureEntry) -> Wanted:
    return Wanted(
        {
            "company": company,
            "area": closure.area,
            "first_day": closure.first_day,
            "last_day": closure.last_day,
        },
        {"reason": closure.reason},
    )


def _odd_job(company: Company, house: House, job: OddJobEntry) -> Wanted:
    return Wanted(
        {"company": company, "house": house, "name": job.name},
        {
            "person_minutes": job.person_minutes,
            "skill": job.skill,
            **_if_known("done", job.done),
        },
    )


def _if_known(name: str, value: bool | None) -> dict[str, bool]:
    return {} if value is None else {name: value}
