"""What crews say that the office settles: shown on the house, with its photo, to its company."""

from datetime import timedelta
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image
from pytest_django import Settings

from finishing.models import Crew, Surface
from scheduling.models import ExtraWork, Obstacle, Visit
from scheduling.queries.for_the_office import open_extra_work, open_obstacles
from scheduling.services.links import make_page, page_address
from scheduling.services.publish import publish_plan
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house, make_plan, task
from tests.sites import FLATS_AND_CORNERS, add_joints

pytestmark = pytest.mark.django_db
ORIENTATION, GPS = 0x0112, 0x8825  # tags of EXIF 2.32


@pytest.fixture(autouse=True)
def photos(settings: Settings, tmp_path: Path) -> Path:
    settings.PHOTO_DIR = tmp_path / "photos"
    return tmp_path / "photos"


@pytest.fixture
def visit() -> Visit:
    company = make_company()
    crew, house = make_crew(company), make_house(company)
    for surface in Surface.objects.all():
        add_joints(surface, FLATS_AND_CORNERS)
    make_plan(company, [task(crew, house, timezone.now() + timedelta(minutes=5))])
    publish_plan(company=company, now=timezone.now())
    return Visit.objects.select_related("crew__company", "house").get()


def say(crew: Crew, visit: Visit, action: str, **values: object) -> int:
    path = page_address(make_page(crew=crew)).removeprefix("http://127.0.0.1:8000")
    form = {"sent_as": str(uuid4()), "visit": str(visit.public_id), "action": action, **values}
    return Client().post(path, form).status_code


def picture(kind: str = "JPEG", size: tuple[int, int] = (2400, 1200)) -> SimpleUploadedFile:
    """A photo that was held sideways, with where it was taken."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif[GPS] = {1: "N"}
    body = BytesIO()
    Image.new("RGB", size, "grey").save(body, kind, exif=exif)
    return SimpleUploadedFile("wet.jpg", body.getvalue(), "image/jpeg")


def kept(photos: Path) -> list[Path]:
    return [path for path in photos.rglob("*") if path.is_file()]


def test_the_house_says_why_a_crew_could_not_work_until_it_is_settled(
    visit: Visit, sign_in: SignIn
) -> None:
    assert say(visit.crew, visit, "cannot_work", reason="not_ready", item="heat") == 302
    assert say(visit.crew, visit, "extra_work", what="Patched a hole", hours="1.5") == 302
    office, address = sign_in(visit.company), f"/houses/{visit.house.public_id}/"
    text = office.get(address).text
    assert "Cannot work: Not ready, heat" in text
    assert "Extra work: Patched a hole, 1.5 person-hours" in text
    for kind, row in (
        ("obstacle", Obstacle.objects.get()),
        ("extra_work", ExtraWork.objects.get()),
    ):
        assert office.post(f"/said/{kind}/{row.public_id}/settle/").headers["Location"] == address
    assert "Cannot work" not in office.get(address).text
    assert not open_obstacles(visit.company).exists()
    assert not open_extra_work(visit.company).exists()


def test_a_photo_is_made_anew_upright_small_and_without_where_it_was_taken(
    visit: Visit, sign_in: SignIn, photos: Path
) -> None:
    assert say(visit.crew, visit, "cannot_work", reason="damage", photo=picture()) == 302
    office = sign_in(visit.company)
    response = office.get(f"/photos/{Obstacle.objects.get().public_id}/")
    assert response.headers["Content-Type"] == "image/jpeg"
    body = response.content
    shown = Image.open(BytesIO(body))
    assert shown.size == (800, 1600)
    assert not shown.getexif()
    assert [path.read_bytes() for path in kept(photos)] == [body]
    assert (kept(photos)[0].parent.name) == str(visit.company.public_id)


@pytest.mark.parametrize(
    "body",
    [b"<svg onload='alert(1)'/>", b"GIF89a", picture().read()[:300], b"x" * (10 * 1024 * 1024 + 1)],
    ids=["svg", "gif", "cut off", "too large"],
)
def test_what_is_no_photo_is_refused_and_nothing_is_noted(
    visit: Visit, photos: Path, body: bytes
) -> None:
    file = SimpleUploadedFile("photo.jpg", body, "image/jpeg")
    assert say(visit.crew, visit, "cannot_work", reason="damage", photo=file) == 422
    assert not Obstacle.objects.exists()
    assert kept(photos) == []


def test_a_photo_sent_again_is_kept_once(visit: Visit, photos: Path) -> None:
    same = str(uuid4())
    for _ in range(2):
        sent = say(visit.crew, visit, "cannot_work", reason="damage", photo=picture(), sent_as=same)
        assert sent == 302
    assert len(kept(photos)) == 1


def test_another_company_sees_and_settles_nothing(visit: Visit, sign_in: SignIn) -> None:
    say(visit.crew, visit, "cannot_work", reason="damage", photo=picture())
    row = Obstacle.objects.get()
    stranger = sign_in(make_company("Other"))
    assert stranger.get(f"/photos/{row.public_id}/").status_code == 404
    assert stranger.post(f"/said/obstacle/{row.public_id}/settle/").status_code == 404
    assert Client().get(f"/photos/{row.public_id}/").status_code == 302, "to the sign-in"
    row.refresh_from_db()
    assert row.settled_at is None
    assert sign_in(visit.company).post(f"/said/no/{row.public_id}/settle/").status_code == 404
