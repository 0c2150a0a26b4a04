"""Rates out of crews' reports: which jobs count, what is offered, taken, declined."""

from datetime import timedelta

import pytest

from finishing.models import Change, Company, LabourRate
from finishing.rules.vocabulary import Stage
from finishing.services.rows import StaleRowsError
from scheduling.models import DeclinedRates, ExtraWork, Report, Visit
from scheduling.services.rate_jobs import expected_minutes, present_rates
from scheduling.services.rate_offers import RateOffer, decline_rates, rate_offers, take_rates
from scheduling.services.reported_visits import reported_visits
from tests.plans import published_from
from tests.reported import copied, reported, worked
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db(transaction=True)
LATER = MONDAY + timedelta(days=120)
WEEK = timedelta(weeks=1)


@pytest.fixture
def taping() -> Visit:
    """The first visit of a house of one room: taping, by a crew of two."""
    company, _ = make_site(system="All-purpose drying")
    published_from(company, MONDAY)
    visit = Visit.objects.select_related("crew__company", "house").earliest("starts_at")
    assert {task["stage"] for task in visit.content["tasks"]} == {Stage.TAPE}
    return visit


def expected(visit: Visit) -> float:
    return sum(float(task["person_minutes"]) for task in visit.content["tasks"])


def taped(visit: Visit, ratios: list[float]) -> list[Visit]:
    """Store visits like one, each reported by two people as so many times what was planned."""
    rows = [copied(visit, number * WEEK) for number in range(1, len(ratios) + 1)]
    for row, ratio in zip(rows, ratios, strict=True):
        worked(row, round(ratio * expected(row) / 2))
    return rows


def offers_of(company: Company) -> list[RateOffer]:
    return [*rate_offers(company=company, now=LATER).offers]


def test_five_jobs_a_fifth_longer_offer_rates_a_fifth_longer(taping: Visit) -> None:
    taped(taping, [1.2, 1.2, 1.2, 1.2, 3.0])
    (offer,) = offers_of(taping.company)
    assert (offer.stage, offer.found.jobs, offer.is_open) == (Stage.TAPE, 5, True)
    assert offer.found.factor == pytest.approx(1.2, rel=0.01)
    assert {rate.kind for rate in offer.rates} == {"tapered", "butt", "internal", "fasteners"}
    for rate in offer.rates:
        assert rate.reported == pytest.approx(rate.now * offer.found.factor, abs=1e-3)
    assert not LabourRate.objects.exists()


def test_four_jobs_offer_nothing(taping: Visit) -> None:
    taped(taping, [1.5] * 4)
    found = rate_offers(company=taping.company, now=LATER)
    assert found.offers == ()
    assert found.evidence.too_few == {Stage.TAPE: 4}


def test_a_visit_that_is_not_reported_whole_is_no_job(taping: Visit) -> None:
    """Without a start, with work left, without a report, or ended on another day."""
    rows = [copied(taping, number * WEEK) for number in range(1, 5)]
    worked(rows[0], 200, started=False)
    worked(rows[1], 200)
    task, later = rows[1].content["tasks"][0], rows[1].starts_at + timedelta(hours=6)
    reported(rows[1], task, Report.Kind.NOT_DONE, later, minutes_left=30)
    worked(rows[2], 60 * 30)
    assert rate_offers(company=taping.company, now=LATER).evidence.too_few == {}


def test_reports_within_the_present_rates_offer_nothing(taping: Visit) -> None:
    taped(taping, [0.9, 0.95, 1.0, 1.05, 1.1])
    (offer,) = offers_of(taping.company)
    assert not offer.is_open


def test_how_many_were_there_is_what_the_crew_said(taping: Visit) -> None:
    """Three in place of two, in two thirds of the time: as planned."""
    for number in range(1, 6):
        row = copied(taping, number * WEEK)
        worked(row, round(expected(row) / 3), people=3)
    (offer,) = offers_of(taping.company)
    assert offer.found.factor == pytest.approx(1.0, rel=0.01)


def test_extra_work_is_taken_off(taping: Visit) -> None:
    for row in taped(taping, [1.5] * 5):
        ExtraWork.objects.create(
            company=row.company,
            crew=row.crew,
            house=row.house,
            visit=row,
            at=row.starts_at,
            what="Patched",
            person_minutes=round(0.5 * expected(row)),
        )
    (offer,) = offers_of(taping.company)
    assert offer.found.factor == pytest.approx(1.0, rel=0.02)


def test_taking_it_makes_dated_rates_that_the_reports_then_agree_with(taping: Visit) -> None:
    """An edit like any other: it is in the history, with who made it."""
    taped(taping, [1.2] * 6)
    company = taping.company
    (offer,) = offers_of(company)
    take_rates(company=company, stage="tape", seen_as=offer.seen_as, by=None, now=LATER)
    rows = LabourRate.objects.filter(company=company)
    assert {(row.kind, row.minutes, row.dated) for row in rows} == {
        (rate.kind, rate.reported, LATER.date()) for rate in offer.rates
    }
    assert {row.source for row in rows} == {"Our crews' reports: median of 6 jobs, spread 0 %"}
    assert Change.objects.filter(what=Change.What.RATE).count() == len(offer.rates)
    (after,) = offers_of(company)
    assert after.found.factor == pytest.approx(1.0, rel=1e-3)


def test_declined_it_is_asked_again_after_five_more_jobs(taping: Visit) -> None:
    rows = taped(taping, [1.2] * 5)
    company = taping.company
    (offer,) = offers_of(company)
    decline_rates(company=company, stage="tape", seen_as=offer.seen_as, by=None, now=LATER)
    taped(rows[-1], [1.2] * 4)
    (offer,) = offers_of(company)
    assert (offer.found.jobs, offer.is_open) == (9, False)
    assert offer.declined
    taped(rows[-1], [1.2])
    (offer,) = offers_of(company)
    assert offer.is_open


def test_an_offer_that_says_something_else_by_now_is_not_taken(taping: Visit) -> None:
    rows = taped(taping, [1.2] * 5)
    company = taping.company
    (offer,) = offers_of(company)
    taped(rows[-1], [1.4])
    for act in (take_rates, decline_rates):
        with pytest.raises(StaleRowsError):
            act(company=company, stage="tape", seen_as=offer.seen_as, by=None, now=LATER)
    assert not LabourRate.objects.exists()
    assert not DeclinedRates.objects.exists()


def test_another_companys_reports_say_nothing(taping: Visit) -> None:
    taped(taping, [1.2] * 5)
    other, _ = make_site(name="Other Finishing")
    assert rate_offers(company=other, now=LATER).offers == ()


def test_published_minutes_are_put_anew_by_the_rates_of_now(taping: Visit) -> None:
    """All its rates doubled double a task, and with none changed it stays."""
    (task,) = taping.content["tasks"]
    present = present_rates(taping.company)
    assert expected_minutes(task, present) == pytest.approx(task["person_minutes"])
    doubled = {key: 2 * minutes for key, minutes in present.items()}
    assert expected_minutes(task, doubled) == pytest.approx(2 * task["person_minutes"])


def test_it_takes_a_fixed_number_of_queries(
    taping: Visit, django_assert_max_num_queries: object
) -> None:
    rows = taped(taping, [1.2] * 5)
    with django_assert_max_num_queries(10):  # type: ignore[operator]
        rate_offers(company=taping.company, now=LATER)
    taped(rows[-1], [1.2] * 5)
    with django_assert_max_num_queries(10):  # type: ignore[operator]
        rate_offers(company=taping.company, now=LATER)
    assert len(reported_visits(taping.company, MONDAY, LATER)) > 10
