"""manage.py make_user you@example.com"""

import secrets
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from finishing.management.base import CompanyCommand, known_zone
from finishing.models import Company
from finishing.services.companies import FIRST_COMPANY, start_company
from finishing.services.holidays import refresh_holidays
from finishing.services.users import give_sign_in


class Command(CompanyCommand):
    help = "Give somebody a sign-in for a company's pages, or a new password."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("email")
        parser.add_argument("--new", metavar="NAME", help="start a company of this name for them")
        parser.add_argument(
            "--zone", type=known_zone, default="UTC", help="IANA time zone of a new company"
        )
        parser.add_argument("--country", default="", help="ISO 3166 code of a new company")

    def handle(self, *args: Any, **options: Any) -> None:
        self.prepare_database()  # not inside a transaction
        with transaction.atomic():
            super().handle(*args, **options)

    def find_company(self, options: dict[str, Any]) -> Company:
        """Return the company that is meant; a new one where there is none at all."""
        if not options["new"] and Company.objects.exists():
            return super().find_company(options)
        name = options["new"] or options["company"] or FIRST_COMPANY
        try:
            company = start_company(name=name, zone=options["zone"], country=options["country"])
            year = timezone.now().year
            refresh_holidays(company=company, years=(year, year + 1))
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from None
        self.stdout.write(f"made the company {company.name!r}, time zone {company.zone}")
        return company

    def work(self, company: Company, options: dict[str, Any]) -> None:
        password = secrets.token_urlsafe(12)
        try:
            give_sign_in(company=company, email=options["email"], password=password)
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from None
        self.stdout.write(f"{options['email']} signs in to {company} with: {password}")
