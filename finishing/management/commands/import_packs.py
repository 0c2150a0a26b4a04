"""manage.py import_packs packs.csv"""

from typing import Any

from finishing.management.base import ImportCommand, file_content
from finishing.models import Company
from finishing.services.file_imports import FileKind
from finishing.services.pack_sheet import put_packs, read_packs


class Command(ImportCommand):
    kind = FileKind.PACKS
    help = "Import how compounds, tape, beads and sandpaper are bought: packs, prices, lead times."

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        for entry in read_packs(name=path.name, content=file_content(path), company=company):
            row = put_packs(company=company, entry=entry)
            sizes = ", ".join(f"{size:g}" for size in entry.values["packs"])
            self.stdout.write(f"{row}: packs of {sizes or 'no known size'}")
