"""The day that holds in 8 of 10, as builders' calendars tell it."""

from datetime import date, timedelta

import pytest

from finishing.models import AirDay
from scheduling.models import Publication, ToldHandover
from scheduling.services.links import blank_link
from scheduling.services.new_feeds import add_feed
from scheduling.services.odds import current_odds
from scheduling.services.publish import publish_plan
from scheduling.services.replan import request_run, run_replan
from scheduling.wording import day
from tests.scheduling.feed_reading import events_of
from tests.sites import MONDAY, make_site

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def test_the_odds_are_worked_out_once_for_a_revision_and_told() -> None:
    company, house = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    run_replan(run_id=run.pk)
    publish_plan(company=company, now=MONDAY)
    told = ToldHandover.objects.get()
    assert (told.holds_on, told.odds_revision) == (None, 0), "nobody follows a calendar of it"
    link = add_feed(link=blank_link(company=company, house=house), now=MONDAY + HOUR)
    told = ToldHandover.objects.get()
    (odds,) = current_odds(company=company, now=MONDAY + HOUR).handovers
    assert odds.holds_on is not None
    assert (told.holds_on, told.odds_revision) == (odds.holds_on, 1)
    assert (told.sequence, told.modified_at) == (1, MONDAY + HOUR)
    (event,) = [e for e in events_of(link, MONDAY.date()) if "handover" in e["summary"]]
    assert f"{day(odds.holds_on)} holds in 8 of 10" in event["description"]
    assert event["dtstamp"].dt == MONDAY + HOUR
    add_feed(link=blank_link(company=company), now=MONDAY + 2 * HOUR)
    assert ToldHandover.objects.get().modified_at == MONDAY + HOUR


def test_where_too_little_air_is_on_record_none_are_told() -> None:
    company, house = make_site()
    run = request_run(company=company, plan_from=MONDAY, work=1)
    run_replan(run_id=run.pk)
    AirDay.objects.filter(day__lt=date(2026, 2, 25)).delete()
    add_feed(link=blank_link(company=company, house=house), now=MONDAY)
    publish_plan(company=company, now=MONDAY)
    told = ToldHandover.objects.get()
    assert (told.holds_on, told.odds_revision, told.sequence) == (None, 1, 0)
    assert Publication.objects.get().revision == 1
