"""``manage.py refresh_air``: fetch forecasts and say which visits they make too early."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.queries.air_sources import CompanyAir
from finishing.queries.companies import UnknownCompany, chosen_company, own_companies
from finishing.services.errors import InputFaults
from finishing.services.forecasts import (
    Feed,
    Refreshed,
    State,
    feed_from_settings,
    houses_without_place,
    refresh_forecasts,
)
from finishing.services.web_answers import Asker, careful_client
from scheduling.air_wording import forecast_sentence, shared_forecast_sentence
from scheduling.management.wet_lines import wet_lines


class Command(CompanyCommand):
    help = "Fetch the forecast for every house with a position; without --company, of everybody."
    stealth_options = ("transport", "now")
    """What a test puts in the place of the network and the clock."""

    def handle(self, *_args: Any, **options: Any) -> None:
        self.prepare_database()
        now = options.get("now") or timezone.now()
        try:
            feed, companies = feed_from_settings(), _companies(options["company"])
        except (InputFaults, UnknownCompany) as error:
            raise CommandError(str(error)) from None
        if feed is None:
            self.stdout.write("no forecasts are fetched: COATWEAVE_FORECAST_URL is not set")
        failed = 0
        with careful_client(options.get("transport")) as client:
            for company in companies:
                if len(companies) > 1:
                    self.stdout.write(f"{company}:")
                failed += self._refresh(company, feed, Asker(client), now) if feed else 0
                for line in wet_lines(company, now):
                    self.stdout.write(line)
        if failed:
            raise CommandError(f"{failed} of the forecasts could not be fetched; see above")

    def _refresh(self, company: Company, feed: Feed, asker: Asker, now: datetime) -> int:
        """Fetch what is due and return how many places failed."""
        failed = 0
        for done in refresh_forecasts(company=company, feed=feed, asker=asker, now=now):
            failed += done.state is State.FAILED
            self.stdout.write(_line(done, now))
        if without := houses_without_place(company):
            self.stdout.write(
                f"no forecast of their own, as they have no position: {_listed(without)}; "
                + shared_forecast_sentence(CompanyAir(company))
            )
        return failed


def _companies(name: str | None) -> Sequence[Company]:
    """Return the company of a name; without one all but the demo, or that where it is alone."""
    own = own_companies()
    return own if own and not name else [chosen_company(name)]


def _line(done: Refreshed, now: datetime) -> str:
    kept = done.state is State.FAILED and done.source.fetched_at is not None
    said = forecast_sentence(done.source, now) + ("; its air is kept" if kept else "")
    return f"{done.source} ({_listed(done.houses)}): {said}"


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names)
