"""manage.py make_token "Site gateway" --scope read --scope plan"""

from datetime import timedelta
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from finishing.management.base import CompanyCommand
from finishing.models import Company, User
from finishing.queries.rights import SCOPES, Right
from finishing.services.errors import InputFaults
from finishing.services.tokens import make_token


class Command(CompanyCommand):
    help = "Make a token of the API for a program, or in a person's name; it is told once."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("name", help="what the company calls it")
        parser.add_argument(
            "--scope",
            action="append",
            choices=[right.value for right in SCOPES],
            help="what it may do; once for each (read, where none is named)",
        )
        parser.add_argument("--person", metavar="EMAIL", help="whose name it asks in")
        parser.add_argument("--days", type=int, help="how long it is good for; else for good")

    def work(self, company: Company, options: dict[str, Any]) -> None:
        now, days = timezone.now(), options["days"]
        if days is not None and not 1 <= days <= 3650:
            raise CommandError("--days: from 1 to 3650")
        try:
            token, secret = make_token(
                company=company,
                name=options["name"],
                scopes=[Right(scope) for scope in options["scope"] or [Right.READ]],
                person=_person(company, options["person"]),
                expires_at=now + timedelta(days=days) if days else None,
                now=now,
            )
        except InputFaults as error:
            raise CommandError("; ".join(str(fault) for fault in error.faults)) from None
        self.stderr.write(f"{token} may {', '.join(token.scopes)}; its token, told only now:")
        self.stdout.write(secret)


def _person(company: Company, email: str | None) -> User | None:
    if not email:
        return None
    person = User.objects.filter(company=company, email=User.objects.normalize_email(email)).first()
    if person is None:
        raise CommandError(f"nobody of {company} signs in as {email}")
    return person
