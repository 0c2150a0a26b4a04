"""manage.py import_houses houses.csv"""

from typing import Any

from finishing.management.base import ImportCommand, file_content
from finishing.models import Company
from finishing.services.file_imports import FileKind
from finishing.services.house_sheet import read_houses
from finishing.services.houses import put_houses
from finishing.services.sheet_lookups import Lookups


class Command(ImportCommand):
    kind = FileKind.HOUSES
    help = (
        "Import houses with their rooms and joints; a house of the same name is brought up to date."
    )

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        houses = read_houses(
            name=path.name, content=file_content(path), lookups=Lookups.of(company)
        )
        self.houses = [row.name for row in put_houses(company=company, houses=houses)]
        for house in houses:
            rooms = sum(len(area.rooms) for area in house.areas)
            self.stdout.write(
                f"{house.name}: {len(house.areas)} areas, {rooms} rooms, "
                f"handover {house.handover_on}"
            )
