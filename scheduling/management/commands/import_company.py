"""manage.py import_company company.json"""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from finishing.management.base import ImportCommand, file_content
from scheduling.services.company_import import import_company


class Command(ImportCommand):
    help = "Store the company of a file that export_company made, in a database without it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.json")

    def read(self, options: dict[str, Any]) -> None:
        """Store the file's company: it is made here, not looked for."""
        path = options["file"]
        company = import_company(name=path.name, content=file_content(path), now=timezone.now())
        self.stdout.write(f"{company}: imported; people ask for a new password at their sign-in")
