"""Who may do what on the pages: told what they may do, shown only what they may."""

import pytest
from django.urls import reverse

from finishing.models import Role
from scheduling.services.links import make_link
from tests.api.conftest import SignIn
from tests.factories import make_company, make_crew, make_house

pytestmark = pytest.mark.django_db
READERS = [Role.VIEWER, Role.CREW_LEAD]


@pytest.mark.parametrize("role", READERS)
def test_who_only_reads_is_told_what_they_may_do(sign_in: SignIn, role: Role) -> None:
    company = make_company()
    house = make_house(company)
    client = sign_in(company, role)
    refused = client.post(reverse("web:set_house_active", args=[house.public_id]))
    assert refused.status_code == 403
    assert f"signed in as {role.label}" in refused.text
    assert "see the houses" in refused.text
    assert ("say what your crew did" in refused.text) == (role == Role.CREW_LEAD)
    assert "publish" not in refused.text
    house.refresh_from_db()
    assert house.is_active


def test_a_planner_plans_and_owns_nothing(sign_in: SignIn) -> None:
    company = make_company()
    client = sign_in(company, Role.PLANNER)
    assert client.get(reverse("web:messages")).status_code == 200
    assert client.get(reverse("web:settings")).status_code == 200
    assert client.post(reverse("web:settings")).status_code == 403
    crew = make_crew(company)
    link = make_link(crew=crew)
    assert client.get(reverse("web:feeds")).status_code == 200
    address = reverse("web:change_feed", args=[link.public_id, "renew"])
    assert client.get(address).status_code == 403
    assert client.post(address).status_code == 403


@pytest.mark.parametrize("role", READERS)
def test_secret_addresses_of_crews_are_not_for_readers(sign_in: SignIn, role: Role) -> None:
    client = sign_in(make_company(), role)
    for page in ("messages", "feeds"):
        assert client.get(reverse(f"web:{page}")).status_code == 403
        assert reverse(f"web:{page}") not in client.get(reverse("web:company")).text


def test_another_companys_house_is_not_there_for_any_right(sign_in: SignIn) -> None:
    theirs = make_house(make_company("Other Finishing"))
    mine = make_company()
    for role in Role:
        assert sign_in(mine, role).get(f"/houses/{theirs.public_id}/").status_code == 404
