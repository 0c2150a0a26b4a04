"""manage.py import_crews crews.csv"""

from typing import Any

from django.utils import timezone

from finishing.management.base import ImportCommand, file_content
from finishing.models import Company
from finishing.services.crew_sheet import read_crews
from finishing.services.crews import put_crew
from finishing.services.file_imports import FileKind
from finishing.services.holidays import refresh_holidays


class Command(ImportCommand):
    kind = FileKind.CREWS
    help = "Import crews with their people, hours and days off, and the country's public holidays."

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        crews = read_crews(name=path.name, content=file_content(path), company=company)
        for crew in crews:
            put_crew(company=company, crew=crew)
            self.stdout.write(f"{crew.name}: {len(crew.members)} members")
        if not company.country:
            self.stdout.write("no public holidays: give the country with --country")
            return
        year = timezone.now().year
        count = refresh_holidays(company=company, years=(year, year + 1))
        self.stdout.write(f"{count} public holidays of {company.country}, {year} and {year + 1}")
