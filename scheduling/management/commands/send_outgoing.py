"""``manage.py send_outgoing``: send what is due now, for where no server does."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from scheduling.models import Outgoing
from scheduling.outgoing.claim import next_due
from scheduling.outgoing.send import send_due
from scheduling.services.pushes import push_for_the_day


class Command(BaseCommand):
    help = "Send what is due now: e-mail, webhooks, calendars. The server does so by itself."

    def handle(self, *_args: Any, **_options: Any) -> None:
        push_for_the_day(now=timezone.now())
        tried = send_due()
        for row in tried:
            self.stdout.write(f"{row.company}: {row.kind} to {row.recipient}: {_said(row)}")
        if not tried:
            self.stdout.write("nothing is due")
        if following := next_due(timezone.now()):
            self.stdout.write(f"more is due {following:%Y-%m-%d %H:%M} UTC")
        if any(row.state == Outgoing.State.GIVEN_UP for row in tried):
            raise CommandError("some of it was given up; see above")


def _said(row: Outgoing) -> str:
    state = Outgoing.State(row.state).label.lower()
    return f"{state}: {row.error}" if row.error else state
