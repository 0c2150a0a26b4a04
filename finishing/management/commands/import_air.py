"""manage.py import_air air.csv"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import ImportCommand, file_content, find_house
from finishing.models import AirSource, Company
from finishing.services.air import Reading, link_air, put_air_source, store_air
from finishing.services.air_sheet import HOUR, AirFormat, read_air
from finishing.services.errors import Fault, InputFaults


class Command(ImportCommand):
    zone_is_the_companys = False
    help = "Import hourly temperature and relative humidity of a station or of one house."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--source", metavar="NAME", help="name of the air (default: the file)")
        parser.add_argument("--kind", choices=("station", "logger"))
        parser.add_argument("--house", metavar="HOUSE", help="the house whose air this is")
        parser.add_argument("--unit", choices=("C", "F"), default="", help="of the temperature")
        parser.add_argument(
            "--holes", action="store_true", help="missing hours are no fault; they are assumed"
        )

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        house = find_house(company, options["house"]) if options["house"] else None
        file_format = AirFormat(
            source=options["source"] or (house.name if house else path.stem),
            zone=ZoneInfo(options["zone"]) if options["zone"] else None,
            unit=options["unit"],
            kind=_kind(options),
            holes=options["holes"],
        )
        found = read_air(name=path.name, content=file_content(path), file_format=file_format)
        if house and len(found) > 1:
            raise CommandError(f"{path.name} has {len(found)} stations: --house takes one")
        if house and not options["kind"]:
            _check_no_station(company, found)
        for name, readings in found.items():
            source = put_air_source(company=company, name=name, kind=file_format.kind)
            store_air(source=source, readings=readings)
            if house:
                link_air(house=house, source=source)
            said = _hours_in_words(readings) + (f", for {house.name}" if house else "")
            self.stdout.write(f"{source.name}: {said}")


def _kind(options: dict[str, Any]) -> AirSource.Kind | None:
    if options["kind"]:
        return AirSource.Kind(options["kind"])
    return AirSource.Kind.LOGGER if options["house"] else None


def _check_no_station(company: Company, names: Iterable[str]) -> None:
    """A logger's file must not turn a station of the same name into a logger."""
    stations = AirSource.objects.filter(
        company=company, name__in=list(names), kind=AirSource.Kind.STATION, days__isnull=False
    )
    if station := stations.first():
        said = "is a station already: name the logger's air with --source"
        raise InputFaults([Fault(f"source {station.name!r}", said)])


def _hours_in_words(readings: Mapping[datetime, Reading]) -> str:
    first, last = min(readings), max(readings)
    missing = round((last - first) / HOUR) + 1 - len(readings)
    return f"{len(readings)} hours, {first:%Y-%m-%d %H:%MZ} to {last:%Y-%m-%d %H:%MZ}" + (
        f", {missing} missing between them" if missing else ""
    )
