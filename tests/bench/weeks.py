"""Pages of the office with 40 houses and 8 weeks of work: ``uv run python -m tests.bench.weeks``.

An invented company whose eight crews are at three houses a day, with every third house cold at
night; its plan is drawn, not verified. Prints of each page the queries, the processor's time of
the thread that answers (median of 15) and its bytes, plain and compressed; before that those of the
first look after a row has changed, when nothing is kept. Then those that take more than they may
either way: 15 queries, 200 ms at best.
"""

import gzip
import os
import tempfile
from datetime import date, datetime, time, timedelta
from statistics import median
from time import sleep, thread_time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.test import Client

    from finishing.models import Company, Crew, House
    from scheduling.models import PlannedTask

MONDAY = date(2026, 3, 2)
HOUSES, CREWS, DAYS = 40, 8, 56
ROUNDS, FIRST_LOOKS = 15, 4
TO_COME = b"being worked out"
MOST_QUERIES, MOST_MS = 15, 200
PAGES = (
    "/houses/weeks/2026-03-02/?weeks=8",
    "/houses/weeks/2026-03-02/",
    "/week/2026-03-09/",
    "/",
    "/fit/",
    "/odds/",
    "/houses/",
    "/air/",
    "/air/now/",
    "/runs/",
    "/publishing/",
    "/messages/",
    "/material/",
    "/costs/",
    "/scenarios/",
)
OF_A_HOUSE = ("", "air/", "rooms/", "site/", "done/", "costs/", "history/")


def main() -> None:
    with tempfile.TemporaryDirectory() as var:
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        measure()


def measure() -> None:
    """Print what each page costs."""
    from django.conf import settings
    from django.test import Client

    from finishing.models import House
    from finishing.models.user import Role, User

    settings.ALLOWED_HOSTS = ["testserver"]
    client = Client()
    client.force_login(
        User.objects.create(email="office@example.com", company=big_company(), role=Role.PLANNER)
    )
    house = House.objects.order_by("pk")[0]
    too_much = []
    for page in (*PAGES, *(f"/houses/{house.public_id}/{part}" for part in OF_A_HOUSE)):
        wait_for(client, page)  # by then code and templates are loaded
        body = client.get(page).content
        first = Looks([first_look(client, page, house) for _ in range(FIRST_LOOKS)])
        wait_for(client, page)
        later = Looks([look(client, page) for _ in range(ROUNDS)])
        print(  # noqa: T201 - a bench prints
            f"{page}: first {first}; then {later}, "
            f"{len(body) / 1000:.0f} kB, {len(gzip.compress(body)) / 1000:.0f} kB compressed"
        )
        if first.are_too_much or later.are_too_much:
            too_much.append(page)
    print(f"too much: {', '.join(too_much) or 'none'}")  # noqa: T201


class Looks:
    """Looks at a page: the queries and the ms of each."""

    def __init__(self, looks: list[tuple[int, float]]) -> None:
        self.queries = max(queries for queries, _ in looks)
        self.ms = [ms for _, ms in looks]

    def __str__(self) -> str:
        return f"{self.queries} queries, {median(self.ms):.0f} ms ({min(self.ms):.0f} at best)"

    @property
    def are_too_much(self) -> bool:
        return self.queries > MOST_QUERIES or min(self.ms) > MOST_MS


def look(client: "Client", page: str) -> tuple[int, float]:
    """Return how many queries a look takes, and how many ms."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as queries:
        start = thread_time()
        assert client.get(page).status_code == 200
        ms = 1000 * (thread_time() - start)
    return len(queries), ms


def first_look(client: "Client", page: str, house: "House") -> tuple[int, float]:
    """Return what a look takes once a row has changed."""
    wait_for(client, page)
    house.version += 1
    house.save()
    return look(client, page)


def wait_for(client: "Client", page: str) -> None:
    """Return once a thread has found what a page comes again for."""
    while TO_COME in (answer := client.get(page)).content or "Refresh" in answer.headers:
        sleep(0.2)


def big_company() -> "Company":
    """Make the company with its crews, houses and working plan."""
    from tests.factories import make_company, make_crew, make_house, make_plan

    company = make_company()
    crews = [make_crew(company, f"Crew {number + 1}") for number in range(CREWS)]
    rooms = ("Hall", "Kitchen", "Sitting room", "Landing")
    houses = [
        make_house(company, f"Alder Row {number + 1}", rooms=rooms) for number in range(HOUSES)
    ]
    tasks = [
        planned
        for day in range(DAYS)
        if day % 7 < 5
        for number, crew in enumerate(crews)
        for planned in day_of(crew, houses[number::CREWS], day)
    ]
    nights = [[24 * day, 6] for day in range(DAYS)]
    cold = {str(house.public_id): nights for house in houses[::3]}
    make_plan(
        company,
        tasks,
        handovers=[promise(house, n) for n, house in enumerate(houses)],
        cold_hours={"from": f"{MONDAY}T00:00+00:00", "houses": cold},
    )
    return company


def day_of(crew: "Crew", houses: list["House"], day: int) -> list["PlannedTask"]:
    """Return a day of a crew: two rooms in each of two houses, a look at a third."""
    from finishing.rules.vocabulary import Stage
    from tests.factories import local, task

    start = local(f"{MONDAY + timedelta(days=day)} 07:00", crew.zone)
    stages = (Stage.TAPE, Stage.SECOND, Stage.FINISH, Stage.SAND)
    visits = [
        (0, 0, 95, "Hall"),
        (0, 95, 95, "Kitchen"),
        (1, 225, 80, "Sitting room"),
        (1, 305, 80, "Landing"),
        (2, 430, 45, "Hall"),
    ]
    return [
        task(
            crew,
            houses[(day + turn) % len(houses)],
            start + timedelta(minutes=begins),
            minutes=minutes,
            stage=stages[(day + turn) % 4],
            room=room,
            key=f"{crew.pk}:{day}:{begins}",
            ready_after=None if (day + turn) % 4 == 3 else timedelta(hours=22 + 3 * (day % 7)),
        )
        for turn, begins, minutes, room in visits
    ]


def promise(house: "House", number: int) -> dict[str, object]:
    """Return a handover, every third one late."""
    due = MONDAY + timedelta(days=10 + number)
    met = datetime.combine(due, time(12)).astimezone() + timedelta(days=number % 3 - 1)
    late = max(0, 720 - 1440 * (1 - number % 3)) if number % 3 == 2 else 0
    return {
        "house": house.name,
        "house_id": str(house.public_id),
        "areas": ["Ground floor"],
        "due_on": str(due),
        "state": "planned",
        "met_at": met.isoformat(),
        "late_minutes": late,
    }


if __name__ == "__main__":
    main()
