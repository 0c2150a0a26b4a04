"""What commands about a company share: a ready database, the company, faults on standard error."""

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from finishing.models import Change, Company, House
from finishing.models.zones import validate_zone
from finishing.queries.companies import UnknownCompany, chosen_company
from finishing.services.companies import company_for_import
from finishing.services.company_log import logged
from finishing.services.company_settings import edit_settings
from finishing.services.errors import InputFaults
from finishing.services.file_imports import FileKind, logged_import


class ReadyCommand(BaseCommand):
    """A command that needs the database as it is now."""

    def prepare_database(self) -> None:
        """Bring the embedded database up to date; ask for ``migrate`` on any other."""
        executor = MigrationExecutor(connection)
        if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
            return
        if connection.vendor != "sqlite":
            raise CommandError("the database is not up to date: run manage.py migrate first")
        call_command("migrate", verbosity=0)
        self.stderr.write(f"database brought up to date: {connection.settings_dict['NAME']}")


class CompanyCommand(ReadyCommand):
    """A command about one company: put the work in ``work``."""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--company", metavar="NAME", help="needed where there are several")

    def handle(self, *_args: Any, **options: Any) -> None:
        self.prepare_database()
        try:
            self.work(self.find_company(options), options)
        except UnknownCompany as error:
            raise CommandError(str(error)) from None

    def find_company(self, options: dict[str, Any]) -> Company:
        return chosen_company(options["company"])

    def work(self, company: Company, options: dict[str, Any]) -> None:
        raise NotImplementedError


class ImportCommand(CompanyCommand):
    """Reads one file into a company, which it makes where there is none, and logs what it does to
    houses and to the company's parts; all or nothing."""

    kind: FileKind
    """What its file is about."""
    houses: Sequence[str] = ()
    """By name those that its file is about, for ``work`` to say: their history tells of it."""
    zone_is_the_companys = True
    """Whether ``--zone`` speaks of the company, not of the times in the file."""

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", type=Path, metavar="FILE.csv")
        parser.add_argument("--zone", type=known_zone, help="IANA time zone of a new company")
        parser.add_argument("--country", default="", help="ISO 3166 code of a new company")

    def find_company(self, options: dict[str, Any]) -> Company:
        company, made = company_for_import(
            name=options["company"], zone=options["zone"] or "UTC", country=options["country"]
        )
        if not made:
            self._apply_settings(company, options)
        if made:
            self.made.append(f"made the company {company.name!r}, time zone {company.zone}")
        return company

    def _apply_settings(self, company: Company, options: dict[str, Any]) -> None:
        """Give a company that there is already the zone and country that the options name."""
        zone = options["zone"] if self.zone_is_the_companys else None
        said = {"zone": zone, "country": options["country"].upper()}
        values = {k: value for k, value in said.items() if value and getattr(company, k) != value}
        now = timezone.now()
        with logged(company, (Change.What.SETTINGS, Change.What.HOLIDAY), by=None, now=now):
            years = (now.year, now.year + 1)
            edit_settings(company=company, version=company.version, values=values, years=years)
        self.made.extend(
            f"the {name} of {company.name!r} is {value} from now on"
            for name, value in values.items()
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        self.made: list[str] = []
        self.prepare_database()
        try:
            with transaction.atomic():
                self.read(options)
        except UnknownCompany as error:
            raise CommandError(str(error)) from None
        except InputFaults as error:
            self._refuse([str(fault) for fault in error.faults])
        except ValidationError as error:
            self._refuse(error.messages)
        for line in self.made:
            self.stdout.write(line)

    def read(self, options: dict[str, Any]) -> None:
        """Store what the file says."""
        company = self.find_company(options)
        with logged_import(company, self.kind, by=None, now=timezone.now()) as imported:
            self.work(company, options)
            imported.names = self.houses

    def _refuse(self, faults: list[str]) -> None:
        for fault in faults:
            self.stderr.write(fault)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        raise CommandError(f"{count}: nothing was imported")


def file_content(path: Path) -> bytes:
    """Return a file's bytes, or end the command with what is wrong with the file."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror}") from None


def find_house(company: Company, name: str) -> House:
    """Return the house of this name; end the command if there is none."""
    house = House.objects.filter(company=company, name=name).first()
    if house is None:
        known = ", ".join(repr(row.name) for row in House.objects.filter(company=company))
        raise CommandError(f"no house {name!r}; known: {known or 'none yet'}")
    return house


def known_zone(name: str) -> str:
    """Return the name of an IANA zone; argparse reports any other."""
    try:
        validate_zone(name)
    except ValidationError as error:
        raise argparse.ArgumentTypeError(error.messages[0]) from None
    return name
