"""manage.py export_company > company.json"""

import json
import os
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company
from scheduling.services.company_export import ExportError, export_company


class Command(CompanyCommand):
    help = "Write a whole company into one JSON file, but for passwords, tokens and photos."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", type=Path, metavar="FILE.json", help="made anew, for you alone")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        path = options["file"]
        try:
            found = export_company(company=company, now=timezone.now())
            text = json.dumps(found, ensure_ascii=False, separators=(",", ":"))
            _write_anew(path, text + "\n")
        except ExportError as error:
            raise CommandError(str(error)) from None
        except OSError as error:
            raise CommandError(f"{path}: {error.strerror}") from None
        count = sum(map(len, found["rows"].values()))
        self.stdout.write(f"{company}: {count} rows in {path}")


def _write_anew(path: Path, text: str) -> None:
    """Write a file that was not there, whole or not at all, for its owner alone."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
    except OSError:  # a full disk, say: half a file would pass for a copy of the company
        path.unlink(missing_ok=True)
        raise
