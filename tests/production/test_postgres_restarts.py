"""PostgreSQL ends in the middle of a publication and comes back: crews see the old revision or the
new one, never some of each."""

from importlib import import_module
from typing import Any

import pytest
from django.db import OperationalError, connections

from finishing.models import Company
from scheduling.models import Visit
from scheduling.queries.links import links_of_company
from scheduling.queries.plans import latest_publication
from scheduling.services.links import feed_address
from scheduling.services.publish import publish_plan
from tests.production.stack import Stack
from tests.production.told import SUNDAY, fetched, told, told_and_planned_anew

pytestmark = pytest.mark.services

BEFORE_IT_IS_STORED = ("publish.store_revision", "revisions.keep_house_revisions")
WHILE_IT_IS_STORED = ("revisions.tell_people", "revisions.tell_handovers", "publish.note_deed")
ONCE_IT_IS_STORED = ("publish.make_links", "told_odds.odds_untold", "publish.render_feeds")


def end_postgres_at(name: str, stack: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """End the server just before a function of the services is called."""
    module, function = name.split(".")
    real = getattr(import_module(f"scheduling.services.{module}"), function)

    def ended(*args: Any, **kwargs: Any) -> Any:
        stack.postgres.stop_at_once()
        return real(*args, **kwargs)

    monkeypatch.setattr(f"scheduling.services.{name}", ended)


def calendars(company: Company) -> list[str]:
    return [feed_address(link) for link in links_of_company(company)]


def when(company: Company) -> list[tuple[str, bool]]:
    """Return the days of the company's visits, and whether each is called off."""
    rows = Visit.objects.filter(company=company).order_by("starts_at")
    return [(f"{row.starts_at:%d}", row.cancelled_at is not None) for row in rows]


@pytest.mark.parametrize("name", BEFORE_IT_IS_STORED + WHILE_IT_IS_STORED)
def test_crews_see_the_old_revision_where_the_new_one_is_not_whole(
    name: str, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_and_planned_anew()
    before, addresses = told(company), calendars(company)
    with monkeypatch.context() as patch:
        end_postgres_at(name, stack, patch)
        with pytest.raises(OperationalError):
            publish_plan(company=company, now=SUNDAY)
    meanwhile = [fetched(address) for address in addresses]
    stack.postgres.start()
    connections.close_all()
    assert meanwhile == before[-1], "calendars are read from files while the database is away"
    assert told(company) == before
    assert publish_plan(company=company, now=SUNDAY).publication.revision == 2
    assert when(company) == [("03", True), ("04", False), ("05", False)]


@pytest.mark.parametrize("name", ONCE_IT_IS_STORED)
def test_crews_see_the_new_revision_once_it_is_stored(
    name: str, stack: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    company = told_and_planned_anew()
    old = told(company)[-1]
    with monkeypatch.context() as patch:
        end_postgres_at(name, stack, patch)
        with pytest.raises(OperationalError):
            publish_plan(company=company, now=SUNDAY)
    stack.postgres.start()
    connections.close_all()
    latest = latest_publication(company)
    assert latest is not None
    assert latest.revision == 2
    assert when(company) == [("03", True), ("04", False), ("05", False)]
    new = told(company)[-1]
    assert len(new) == len(old)
    assert all(before != after for before, after in zip(old, new, strict=True))
