"""The page on which a house is copied."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from finishing.models import House
from tests.api.conftest import SignIn
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company(), rooms=("Hall", "Kitchen"))


@pytest.fixture
def client(sign_in: SignIn, house: House) -> Client:
    return sign_in(house.company)


def copy_of(house: House) -> str:
    return f"/houses/{house.public_id}/copy/"


def test_the_page_says_what_a_copy_gets(
    client: Client, house: House, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(6):
        text = client.get(copy_of(house)).content.decode()
    assert "the same areas (1), rooms (2) and surfaces (2)" in text


def test_one_copy_leads_to_its_page(client: Client, house: House) -> None:
    typed = {"names": "Mill House 2", "address": "2 Mill Lane", "handover_on": "2026-05-01"}
    response = client.post(copy_of(house), typed)
    made = House.objects.get(name="Mill House 2")
    assert response["Location"] == f"/houses/{made.public_id}/"
    assert made.address == "2 Mill Lane"
    assert made.areas.get().rooms.count() == 2


def test_several_are_made_each_with_its_own_address_if_it_has_one(
    client: Client, house: House
) -> None:
    typed = {
        "names": "Two\n\n Three ; 3 Quay Street \n",
        "address": "Mill Lane",
        "handover_on": "2026-05-01",
    }
    assert client.post(copy_of(house), typed)["Location"] == "/houses/"
    addresses = dict(House.objects.values_list("name", "address"))
    assert addresses == {"Mill Cottage": "", "Two": "Mill Lane", "Three": "3 Quay Street"}


def test_all_faults_are_shown_at_once_and_what_was_typed_stays(
    client: Client, house: House
) -> None:
    typed = {"names": "Mill Cottage\nTwo\nTwo", "address": "Mill Lane", "handover_on": ""}
    response = client.post(copy_of(house), typed)
    text = response.content.decode()
    assert response.status_code == 422
    for part in (
        "Line 1: There is a house called Mill Cottage already",
        "Line 3: Two is there more than once",
        "Choose a day.",
        'value="Mill Lane"',
        "Two\nTwo",
        'href="#id_names"',
    ):
        assert part in text
    assert House.objects.count() == 1


def test_another_companys_house_is_not_there(sign_in: SignIn, house: House) -> None:
    other = sign_in(make_company("Other Finishing"))
    assert other.get(copy_of(house)).status_code == 404
    typed = {"names": "Two", "handover_on": "2026-05-01"}
    assert other.post(copy_of(house), typed).status_code == 404
    assert House.objects.count() == 1


def test_names_with_a_character_that_no_text_has_are_refused(client: Client, house: House) -> None:
    typed = {"names": "Two\0", "handover_on": "2026-05-01"}
    response = client.post(copy_of(house), typed)
    assert response.status_code == 422
    assert "Null characters are not allowed." in response.content.decode()
    assert House.objects.count() == 1
