"""A row that an address is of, removed while its page is being made."""

import pytest
from django.http import Http404, HttpRequest, HttpResponse
from django.test import RequestFactory

from api.access import company_view
from api.row_ids import KINDS_OF_ID, RowId
from finishing.models import Company, House, User
from finishing.models.owned import Row
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db


class HouseId(RowId):
    kinds: tuple[type[Row], ...] = KINDS_OF_ID["house"]  # type: ignore[misc]


@company_view()
def removes_it_first(request: HttpRequest, company: Company, public_id: HouseId) -> HttpResponse:
    House.objects.filter(public_id=public_id).delete()
    return HttpResponse(House.objects.get(company=company, public_id=public_id))


@company_view()
def looks_for_another(request: HttpRequest, company: Company, public_id: HouseId) -> HttpResponse:
    return HttpResponse(House.objects.get(company=company, name="Nowhere"))


def asked() -> tuple[HttpRequest, HouseId]:
    company = make_company()
    request = RequestFactory().get("/")
    request.user = User.objects.create(email="office@example.com", company=company)
    return request, HouseId(str(make_house(company).public_id))


def test_a_row_that_has_just_gone_is_not_here() -> None:
    request, house = asked()
    with pytest.raises(Http404):
        removes_it_first(request, public_id=house)


def test_an_error_of_the_program_is_not_taken_for_that() -> None:
    request, house = asked()
    with pytest.raises(House.DoesNotExist):
        looks_for_another(request, public_id=house)
