"""The demo's invented weeks: enough for the pages that look back, the same however often loaded."""

import pytest

from finishing.models import House
from finishing.rules.vocabulary import Stage
from finishing.services.demo import load_demo
from scheduling.models import Visit
from scheduling.services.demo_history import make_up_history
from scheduling.services.looking_back import first_of_months, look_back
from scheduling.services.rate_offers import rate_offers
from tests.factories import make_company
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


def test_there_is_something_to_look_back_at() -> None:
    company = load_demo(today=MONDAY.date())
    for _ in range(2):
        make_up_history(company=company, now=MONDAY)
    assert House.objects.filter(company=company, is_active=False).count() == 1
    assert Visit.objects.filter(company=company).count() == 24
    offers = rate_offers(company=company, now=MONDAY).offers
    assert {offer.stage for offer in offers} == {
        Stage.TAPE,
        Stage.SECOND,
        Stage.FINISH,
        Stage.SAND,
    }
    assert all(offer.found.jobs == 6 for offer in offers)
    first = first_of_months(company, 3, MONDAY)
    found = look_back(company=company, first=first, now=MONDAY)
    assert sum(sum(row.lost.values()) for row in found.months) > 0
    assert sum(one.wet for one in found.waits) > 0


def test_no_real_company_gets_any() -> None:
    with pytest.raises(ValueError, match="is no demo"):
        make_up_history(company=make_company(), now=MONDAY)
