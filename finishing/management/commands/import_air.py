"""manage.py import_air air.csv"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandParser

from finishing.management.base import ImportCommand, file_content, find_house
from finishing.models import AirSource, Company
from finishing.services.air import Reading
from finishing.services.air_files import import_air
from finishing.services.air_sheet import HOUR, AirFormat
from finishing.services.file_imports import FileKind


class Command(ImportCommand):
    kind = FileKind.AIR
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
        found = import_air(
            company=company,
            name=path.name,
            content=file_content(path),
            file_format=AirFormat(
                source=options["source"] or (house.name if house else path.stem),
                zone=ZoneInfo(options["zone"]) if options["zone"] else None,
                unit=options["unit"],
                kind=AirSource.Kind(options["kind"]) if options["kind"] else None,
                holes=options["holes"],
            ),
            house=house,
        )
        for name, readings in found.items():
            said = _hours_in_words(readings) + (f", for {house.name}" if house else "")
            self.stdout.write(f"{name}: {said}")


def _hours_in_words(readings: Mapping[datetime, Reading]) -> str:
    first, last = min(readings), max(readings)
    missing = round((last - first) / HOUR) + 1 - len(readings)
    return f"{len(readings)} hours, {first:%Y-%m-%d %H:%MZ} to {last:%Y-%m-%d %H:%MZ}" + (
        f", {missing} missing between them" if missing else ""
    )
