"""The disk is full: whoever sends something is told that it is not stored, and why."""

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pytest_django import Settings

from finishing.models import Company, Note, Surface
from finishing.services.no_room import has_no_room
from scheduling.models import Publication, Report, Visit
from scheduling.queries.plans import working_plan
from scheduling.services.links import make_page, page_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.api.rest.api_clients import program
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.scheduling.services.test_full_disk import files_below, full_database, little_room
from tests.sites import FLATS_AND_CORNERS, add_joints

pytestmark = pytest.mark.django_db(transaction=True)
SAID = "Nothing was stored: the server has no room left"


def planned_company() -> Company:
    """A company with more to publish than a page of the database has room for."""
    company = make_company()
    rooms = [f"Room {number}" for number in range(200)]
    crew, house = make_crew(company), make_house(company, rooms=rooms)
    first = timezone.now() + timedelta(days=1)
    hours = [(timedelta(minutes=6 * number), room) for number, room in enumerate(rooms)]
    make_plan(company, [task(crew, house, first + at, minutes=5, room=room) for at, room in hours])
    return company


def test_a_page_says_that_nothing_is_published(sign_in: SignIn) -> None:
    company = planned_company()
    browser = sign_in(company)
    browser.raise_request_exception = False
    plan = working_plan(company)
    assert plan is not None
    with full_database():
        answer = browser.post(reverse("web:publish", args=[plan.public_id]))
    assert answer.status_code == 507
    assert SAID in answer.content.decode()
    assert not Publication.objects.exists()
    assert not Visit.objects.exists()


def test_a_crew_is_told_that_a_photo_is_not_stored(settings: Settings, tmp_path: Path) -> None:
    settings.PHOTO_DIR = tmp_path / "photos"
    company = make_company()
    crew, house = make_crew(company, language="es"), make_house(company)
    for surface in Surface.objects.all():
        add_joints(surface, FLATS_AND_CORNERS)
    make_plan(company, [task(crew, house, timezone.now() + timedelta(minutes=5))])
    publish_plan(company=company, now=timezone.now())
    visit = Visit.objects.get()
    path = page_address(make_page(crew=crew)).removeprefix("http://127.0.0.1:8000")
    body = BytesIO()
    Image.effect_noise((800, 800), 90).save(body, "JPEG")
    form = {"sent_as": str(uuid4()), "visit": str(visit.public_id), "action": "cannot_work"}
    photo = SimpleUploadedFile("wet.jpg", body.getvalue(), "image/jpeg")
    phone = Client(raise_request_exception=False)
    with little_room():
        answer = phone.post(path, form | {"reason": "damage", "photo": photo})
    assert answer.status_code == 507
    assert "No se guardó nada: el servidor no tiene espacio" in answer.content.decode()
    assert not Report.objects.exists()
    assert not files_below(tmp_path)


def test_a_program_is_told_so_as_a_problem() -> None:
    company = make_company()
    house = make_house(company)
    gateway, note = program(company), {"house": str(house.public_id), "text": "x" * 1900}
    with full_database():
        answers = [gateway.post("/api/v1/notes/", note) for _ in range(9)]
    last = answers[-1]
    assert (last.status_code, last["Content-Type"]) == (507, "application/problem+json")
    assert last.json()["type"] == "/api/v1/problems/no-room/"
    stored = [answer for answer in answers if answer.status_code == 201]
    assert Note.objects.count() == len(stored)


def test_a_fault_that_nobody_foresaw_has_a_page_without_a_database(
    sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise OperationalError("the connection is closed")

    browser = sign_in(make_company())
    browser.raise_request_exception = False
    monkeypatch.setattr("api.web.run_views.planning_page", broken)
    answer = browser.get("/runs/")
    assert answer.status_code == 500
    assert "That did not work" in answer.content.decode()


@pytest.mark.parametrize(
    ("raised", "full"),
    [
        (lambda: OSError(28, "No space left on device"), True),
        (lambda: OSError(2, "No such file"), False),
        (lambda: OperationalError("database is locked"), False),
    ],
)
def test_what_counts_as_full(raised: Callable[[], Exception], full: bool) -> None:
    assert has_no_room(raised()) is full
