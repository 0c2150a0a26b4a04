"""manage.py make_user you@example.com"""

import secrets
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError, CommandParser

from finishing.management.base import CompanyCommand
from finishing.models import Company
from finishing.services.users import give_sign_in


class Command(CompanyCommand):
    help = "Give somebody a sign-in for a company's pages, or a new password."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("email")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        password = secrets.token_urlsafe(12)
        try:
            give_sign_in(company=company, email=options["email"], password=password)
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from None
        self.stdout.write(f"{options['email']} signs in to {company} with: {password}")
