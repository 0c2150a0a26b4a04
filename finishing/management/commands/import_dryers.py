"""manage.py import_dryers dryers.csv"""

from typing import Any

from finishing.management.base import ImportCommand, file_content
from finishing.models import Company
from finishing.services.dryer_sheet import read_dryers
from finishing.services.dryers import put_dryer
from finishing.services.file_imports import FileKind

CAUTION = " (it burns: carbon monoxide; fresh air, an alarm, never left unattended)"


class Command(ImportCommand):
    kind = FileKind.DRYERS
    help = "Import dehumidifiers and heaters: how many, what they can do, where they are."

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        for dryer in read_dryers(name=path.name, content=file_content(path), company=company):
            row = put_dryer(company=company, dryer=dryer)
            where = f", stands in {row.house}" if row.house else ""
            self.stdout.write(f"{row.name}: {row.count}{where}{CAUTION if row.flame else ''}")
