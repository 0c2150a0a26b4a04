"""manage.py import_air air.csv"""

from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import CommandError, CommandParser

from finishing.management.base import ImportCommand, file_content
from finishing.models import AirSource, Company, House
from finishing.services.air import link_air, put_air_source, store_air
from finishing.services.air_sheet import AirFormat, read_air


class Command(ImportCommand):
    zone_is_the_companys = False
    help = "Import hourly temperature and relative humidity of a station or of one house."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--source", metavar="NAME", help="name of the air (default: the file)")
        parser.add_argument("--kind", choices=AirSource.Kind.values)
        parser.add_argument("--house", metavar="HOUSE", help="the house whose air this is")
        parser.add_argument("--unit", choices=("C", "F"), default="", help="of the temperature")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        house = find_house(company, options["house"])
        file_format = AirFormat(
            source=options["source"] or (house.name if house else path.stem),
            zone=ZoneInfo(options["zone"]) if options["zone"] else None,
            unit=options["unit"],
        )
        found = read_air(name=path.name, content=file_content(path), file_format=file_format)
        if house and len(found) > 1:
            raise CommandError(f"{path.name} has {len(found)} stations: --house takes one")
        for name, readings in found.items():
            kind = AirSource.Kind(options["kind"]) if options["kind"] else None
            if kind is None and house:
                kind = AirSource.Kind.LOGGER
            source = put_air_source(company=company, name=name, kind=kind)
            store_air(source=source, readings=readings)
            if house:
                link_air(house=house, source=source)
            first, last = min(readings), max(readings)
            self.stdout.write(
                f"{source.name}: {len(readings)} hours, {first:%Y-%m-%d %H:%MZ} to "
                f"{last:%Y-%m-%d %H:%MZ}" + (f", for {house.name}" if house else "")
            )


def find_house(company: Company, name: str | None) -> House | None:
    """Return the house of this name; end the command if there is none."""
    if not name:
        return None
    house = House.objects.filter(company=company, name=name).first()
    if house is None:
        known = ", ".join(repr(row.name) for row in House.objects.filter(company=company))
        raise CommandError(f"no house {name!r}; known: {known or 'none yet'}")
    return house
