"""/api/v1/extra-work/: what crews did that was in no plan, looked at and settled over the API."""

from datetime import timedelta

import pytest

from finishing.models import BuilderLine, Crew
from finishing.queries.rights import Right
from scheduling.models import ExtraWork
from tests.api.rest.api_clients import program
from tests.factories import make_company, make_crew
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
EXTRA_WORK = "/api/v1/extra-work/"


def test_extra_work_is_listed_settled_once_and_knows_its_line() -> None:
    company, house = make_site()
    crews = Crew.objects.get(), make_crew(company, "South crew")
    noted = [
        ExtraWork.objects.create(
            company=company,
            house=house,
            crew=crew,
            at=MONDAY + timedelta(hours=hour),
            what="Box round a pipe",
            person_minutes=90,
        )
        for hour, crew in enumerate(crews)
    ]
    asker = program(company)
    listed = asker.get(EXTRA_WORK).json()["results"]  # those of one millisecond in any order
    assert sorted(row["crew"] for row in listed) == sorted(str(crew.public_id) for crew in crews)
    (found,) = asker.get(f"{EXTRA_WORK}?crew={crews[0].public_id}&open=true").json()["results"]
    assert (found["what"], found["person_minutes"], found["at"], found["builder_line"]) == (
        "Box round a pipe",
        90,
        "2026-03-02T00:00:00Z",
        None,
    )
    address = f"{EXTRA_WORK}{found['id']}/"
    assert program(company, Right.READ).post(f"{address}settle/", {}).status_code == 403
    assert program(make_company("Other")).post(f"{address}settle/", {}).status_code == 404
    settled = asker.post(f"{address}settle/", {}).json()
    assert settled["settled_at"] is not None
    assert asker.post(f"{address}settle/", {}).json() == settled
    line = {
        "house": str(house.public_id),
        "extra_work": str(noted[1].public_id),
        "day": "2026-03-02",
        "text": "Box round a pipe",
        "person_minutes": 90,
        "rate_minor": 5000,
    }
    assert asker.post("/api/v1/builder-lines/", line).status_code == 201
    billed = asker.get(f"{EXTRA_WORK}{noted[1].public_id}/").json()
    assert billed["builder_line"] == str(BuilderLine.objects.get().public_id)
    assert asker.get(f"{EXTRA_WORK}?open=true").json()["results"] == []
