"""Two tabs that edit the same rows: what nobody touched is never written."""

import pytest
from django.test import Client

from finishing.models import Closure, House, ReadinessLine
from tests.api.conftest import SignIn
from tests.api.web.page_forms import fields_in, form_on
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company(), is_open=False)


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def site(house: House, part: str = "") -> str:
    return f"/houses/{house.public_id}/site/" + (f"{part}/" if part else "")


def test_different_fields_of_one_row_both_stand(client: Client, house: House) -> None:
    part = site(house, "facts")
    page = form_on(client, site(house), part)
    assert client.post(part, page | {"address": "1 Mill Lane"}).status_code == 302
    assert client.post(part, page | {"handover_on": "2026-04-02"}).status_code == 302
    house.refresh_from_db()
    assert (house.address, str(house.handover_on)) == ("1 Mill Lane", "2026-04-02")


def test_the_same_field_is_refused_once_with_both_values(client: Client, house: House) -> None:
    part = site(house, "facts")
    page = form_on(client, site(house), part)
    client.post(part, page | {"handover_on": "2026-04-02", "fire_rated": "on"})
    refused = client.post(part, page | {"handover_on": "2026-04-09", "address": "1 Mill Lane"})
    text = refused.content.decode()
    assert refused.status_code == 409
    assert "Thu 2 Apr" in text
    assert "Thu 9 Apr" in text
    again = fields_in(text, part)
    assert (again["handover_on"], again["address"]) == (["2026-04-09"], ["1 Mill Lane"])
    assert client.post(part, again).status_code == 302
    house.refresh_from_db()
    assert (str(house.handover_on), house.address) == ("2026-04-09", "1 Mill Lane")
    assert house.fire_rated


def test_both_typed_the_same(client: Client, house: House) -> None:
    part = site(house, "facts")
    page = form_on(client, site(house), part)
    for _tab in range(2):
        assert client.post(part, page | {"address": "1 Mill Lane"}).status_code == 302


def test_a_line_that_only_others_changed_is_not_in_the_way(client: Client, house: House) -> None:
    part = site(house, "readiness")
    page = form_on(client, site(house), part)
    client.post(part, page | {"power-state": "done", "power-owed_by": "Electrician"})
    assert client.post(part, page | {"water-state": "open"}).status_code == 302
    rows = {row.item: row for row in ReadinessLine.objects.filter(house=house)}
    assert (rows["power"].owed_by, rows["power"].version) == ("Electrician", 1)
    assert rows["water"].version == 1


def test_a_row_that_others_changed_is_not_removed_unseen(client: Client, house: House) -> None:
    part, area = site(house, "closures"), house.areas.create(name="Attic", company=house.company)
    row = Closure.objects.create(
        company=house.company, area=area, first_day="2026-03-02", last_day="2026-03-03"
    )
    page = form_on(client, site(house), part)
    place = f"closure-{row.public_id}"
    client.post(part, page | {f"{place}-last_day": "2026-03-04"})
    refused = client.post(part, page | {f"{place}-remove": "on"})
    assert refused.status_code == 409
    assert client.post(part, fields_in(refused.content.decode(), part)).status_code == 302
    assert not Closure.objects.exists()


def test_a_line_that_others_removed_is_refused_only_where_touched(
    client: Client, house: House
) -> None:
    part, area = site(house, "closures"), house.areas.create(name="Attic", company=house.company)
    row = Closure.objects.create(
        company=house.company, area=area, first_day="2026-03-02", last_day="2026-03-03"
    )
    page = form_on(client, site(house), part)
    row.delete()
    touched = page | {f"closure-{row.public_id}-last_day": "2026-03-09"}
    assert client.post(part, touched).status_code == 409
    assert client.post(part, page).status_code == 302


def test_several_ticks_are_one_field(client: Client, house: House) -> None:
    page = form_on(client, "/company/settings/", "")
    fewer = page | {"stages": page["stages"][:-1]}
    assert client.post("/company/settings/", fewer).status_code == 302
    assert client.post("/company/settings/", page | {"name": "Mill Lane"}).status_code == 302
    house.company.refresh_from_db()
    assert (house.company.name, house.company.stages) == ("Mill Lane", fewer["stages"])


def test_two_days_of_a_crews_week_both_stand_and_one_day_is_refused(
    client: Client, house: House
) -> None:
    crew = make_crew(house.company)
    page = f"/company/crews/{crew.public_id}/"
    part = f"{page}week/"
    seen = form_on(client, page, part)
    assert client.post(part, seen | {"mon-hours": "08:00-12:00"}).status_code == 302
    assert client.post(part, seen | {"tue-hours": "09:00-12:00"}).status_code == 302
    hours = {row.weekday: row.start.hour for row in crew.hours.all()}
    assert (hours[0], hours[1]) == (8, 9)
    refused = client.post(part, seen | {"mon-hours": "10:00-12:00", "wed-hours": "11:00-12:00"})
    assert refused.status_code == 409
    assert "it is now “08:00-12:00”, you typed “10:00-12:00”" in refused.text
    again = fields_in(refused.text, part)
    assert (again["mon-hours"], again["wed-hours"]) == (["10:00-12:00"], ["11:00-12:00"])
    assert client.post(part, again).status_code == 302
    hours = {row.weekday: row.start.hour for row in crew.hours.all()}
    assert (hours[0], hours[1], hours[2]) == (10, 9, 11)
