"""``manage.py show_air HOUSE``: where a house's air comes from, and what it is."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser

from finishing.management.base import CompanyCommand, find_house
from finishing.models import AirSource, Company
from finishing.queries.air_sources import CompanyAir, forecast_place
from scheduling.air_wording import forecast_sentence, shared_forecast_sentence
from scheduling.management.planning import add_today, moment_of
from scheduling.services.shown_air import ShownHour, air_to_show
from scheduling.wording import air_known, hold_sentence, moment

EVERY_HOURS = 6


class Command(CompanyCommand):
    help = "Show where a house's air comes from, how old that is, and the air of the next week."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("house", metavar="HOUSE", help="the house's name")
        add_today(parser)

    def work(self, company: Company, options: dict[str, Any]) -> None:
        house = find_house(company, options["house"])
        zone, now = ZoneInfo(house.zone), moment_of(company, options["today"])
        shown = air_to_show(house=house, now=now)
        for source, span in shown.sources:
            self.stdout.write(_source(source, span, zone, now))
        if forecast_place(house) is None and (air := CompanyAir(company)).has_forecasts:
            shared = shared_forecast_sentence(air)
            self.stdout.write(f"no forecast of its own, as it has no position; {shared}")
        if shown.assumed_from is None:
            held = hold_sentence({"house": house.name, "code": shown.hold})
            self.stdout.write(held if shown.hold else f"{house.name} is no longer planned")
            return
        for hour in shown.hours[::EVERY_HOURS]:
            self.stdout.write(_hour(hour, zone))
        self.stdout.write(f"from {moment(shown.assumed_from, zone)} on the air is assumed")


def _source(
    source: AirSource,
    span: tuple[datetime, datetime] | None,
    zone: ZoneInfo,
    now: datetime,
) -> str:
    hours = f"{moment(span[0], zone)} to {moment(span[1], zone)}" if span else "no hour known"
    age = f"; {forecast_sentence(source, now)}" if source.kind == AirSource.Kind.FORECAST else ""
    return f"{source} ({source.kind}): {hours}{age}"


def _hour(hour: ShownHour, zone: ZoneInfo) -> str:
    air = f"{hour.temperature_c:.1f} C, {hour.humidity * 100:.0f} %"
    return f"{moment(hour.hour, zone)}  {air}, {air_known(hour.kind)}"
