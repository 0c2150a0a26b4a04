"""/api/v1/obstacles/: what keeps crews from their visits, with photos, over the API alone."""

from base64 import b64encode
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.utils import timezone
from PIL import Image
from pytest_django import Settings

from finishing.models import Crew
from scheduling.models import Obstacle, Visit
from scheduling.services.publish import publish_plan
from tests.api.rest.api_clients import Program, pointers, program
from tests.factories import make_company, make_plan, task
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
REPORTS, OBSTACLES = "/api/v1/reports/", "/api/v1/obstacles/"


@pytest.fixture
def visit(settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Visit:
    settings.PHOTO_DIR = tmp_path / "photos"
    company, house = make_site(rooms=("Hall",))
    crew = Crew.objects.get()
    make_plan(company, [task(crew, house, "2026-03-02 08:00", minutes=90, room="Hall")])
    publish_plan(company=company, now=MONDAY)
    monkeypatch.setattr(timezone, "now", lambda: MONDAY + timedelta(hours=12))
    return Visit.objects.get()


def picture() -> bytes:
    file = BytesIO()
    Image.new("RGB", (40, 30), "brown").save(file, "PNG")
    return file.getvalue()


def say(asker: Program, visit: Visit, **said: object) -> Any:
    report = {"client_id": str(uuid4()), "visit": str(visit.public_id), "action": "cannot_work"}
    return asker.post(REPORTS, {**report, "reason": "damage", **said})


def test_a_photo_comes_with_a_report_and_is_shown_to_its_company(visit: Visit) -> None:
    asker = program(visit.company)
    answer = say(asker, visit, note="Hole", photo=b64encode(picture()).decode())
    assert answer.status_code == 201
    [found] = asker.get(f"{OBSTACLES}?open=true").json()["results"]
    assert (found["reason"], found["note"], found["has_photo"]) == ("damage", "Hole", True)
    address = f"{OBSTACLES}{found['id']}/photo/"
    shown: Any = asker.send("GET", address, accept="image/jpeg")
    assert shown["Content-Type"] == "image/jpeg"
    assert Image.open(BytesIO(shown.content)).size == (40, 30)
    other = program(make_company("Other"))
    assert other.get(address).status_code == 404


@pytest.mark.parametrize("photo", ["no base64", b64encode(b"no picture").decode(), 7])
def test_what_is_no_photo_is_refused_and_nothing_is_noted(visit: Visit, photo: object) -> None:
    answer = say(program(visit.company), visit, photo=photo)
    assert answer.status_code == 422
    assert pointers(answer) == ["#/photo"]
    assert not Obstacle.objects.exists()


def test_an_obstacle_without_a_photo_has_none(visit: Visit) -> None:
    asker = program(visit.company)
    say(asker, visit)
    assert asker.get(f"{OBSTACLES}{Obstacle.objects.get().public_id}/photo/").status_code == 404


def test_it_is_settled_once(visit: Visit) -> None:
    asker = program(visit.company)
    say(asker, visit)
    address = f"{OBSTACLES}{Obstacle.objects.get().public_id}/settle/"
    first = asker.post(address, {}).json()["settled_at"]
    assert first is not None
    assert asker.post(address, {}).json()["settled_at"] == first
    assert asker.get(f"{OBSTACLES}?open=true").json()["results"] == []
