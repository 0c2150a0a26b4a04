"""People of an office at their browsers: which pages they open, how long they look at each."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from http.client import HTTPConnection
from random import Random
from time import perf_counter
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from finishing.models import Company

PENDING, COMES_AGAIN_S = 204, 1.0
"""A worker has yet to find it."""
THINKS_S = 15.0
"""How long somebody looks at a page in the mean; some are left at once, some after a minute."""


@dataclass(frozen=True)
class Opened:
    """A page that somebody opens, with what it fetches by itself once it is there. often: how
    often it is opened beside others."""

    often: int
    address: str
    parts: Sequence[str] = ()


@dataclass(frozen=True)
class Asked:
    """What was asked for, whether by a page itself, how it was answered and after how long."""

    address: str
    is_part: bool
    status: int
    seconds: float


def opened_pages(company: "Company") -> list[Opened]:
    """Return the pages of an office's day: today, the weeks and houses most of all."""
    from django.utils import timezone

    from finishing.models import House, Room
    from scheduling.models import PlannedTask
    from scheduling.queries.plans import working_plan

    now = timezone.now()
    houses = [*House.objects.filter(company=company).values_list("public_id", flat=True)]
    rooms = Room.objects.filter(company=company).values_list("area__house__public_id", "public_id")
    tasks = PlannedTask.objects.filter(plan=working_plan(company), starts_at__gt=now)
    visits = tasks.values_list("public_id", flat=True)[:40]
    whole = [
        Opened(20, "/", ("/fit/", "/odds/")),
        Opened(20, "/week/"),
        Opened(10, "/houses/weeks/"),
        Opened(10, "/houses/"),
        Opened(5, "/runs/", ("/runs/changed/",)),
        Opened(5, "/publishing/"),
        Opened(5, "/messages/"),
        Opened(3, "/air/", ("/air/now/",)),
        Opened(2, "/pins/"),
        Opened(2, "/costs/"),
        Opened(2, "/company/feeds/"),
        Opened(2, "/company/crews/"),
        Opened(1, "/company/settings/"),
        Opened(1, "/company/compounds/"),
        Opened(1, "/company/history/"),
    ]
    rows = zip(rooms[:40], visits, strict=False)
    return [*whole, *_of_houses(houses), *(one for pair in rows for one in _of_rows(*pair))]


def _of_houses(houses: Sequence[UUID]) -> list[Opened]:
    return [
        opened
        for house in houses
        for opened in (
            Opened(1, f"/houses/{house}/", (f"/houses/{house}/air/",)),
            *(Opened(1, f"/houses/{house}/{part}/") for part in ("rooms", "site", "history")),
        )
    ]


def _of_rows(room: tuple[UUID, UUID], visit: UUID) -> list[Opened]:
    return [
        Opened(1, "/houses/{}/rooms/{}/".format(*room)),
        Opened(1, f"/visits/{visit}/move/"),
    ]


def signed_in(company: "Company", number: int) -> str:
    """Return the cookie of somebody who plans for the company."""
    from django.test import Client

    from finishing.models.user import Role, User

    person = User.objects.create(
        email=f"office{number}@example.com", company=company, role=Role.PLANNER
    )
    client = Client()
    client.force_login(person)
    return f"sessionid={client.cookies['sessionid'].value}"


@dataclass
class Person:
    """Somebody with a browser. pause: waits for so many seconds, or not at all."""

    port: int
    cookie: str
    pages: Sequence[Opened]
    chance: Random
    pause: Callable[[float], object]

    def look(self) -> list[Asked]:
        """Think, then open a page and what it fetches; return how all of it was answered."""
        self.pause(min(60.0, self.chance.expovariate(1 / THINKS_S)))
        (page,) = self.chance.choices(self.pages, [page.often for page in self.pages])
        found = [self._asked(page.address, is_part=False)]
        for part in page.parts:
            found.append(self._asked(part, is_part=True))
            while found[-1].status == PENDING:  # as the page's script does
                self.pause(COMES_AGAIN_S)
                found.append(self._asked(part, is_part=True))
        return found

    def _asked(self, address: str, *, is_part: bool) -> Asked:
        began = perf_counter()
        connection = HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {"Cookie": self.cookie, **({"HX-Request": "true"} if is_part else {})}
        connection.request("GET", address, headers=headers)
        answer = connection.getresponse()
        answer.read()
        connection.close()
        return Asked(address, is_part, answer.status, perf_counter() - began)
