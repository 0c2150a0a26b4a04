"""manage.py first_code"""

from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from finishing.management.base import ReadyCommand
from finishing.services.first_owner import first_code


class Command(ReadyCommand):
    help = "Print the code that the first page asks for while nobody can sign in yet."

    def handle(self, *_args: Any, **_options: Any) -> None:
        self.prepare_database()
        code = first_code()
        if code is None:
            raise CommandError("somebody signs in here already: make_user makes others")
        self.stdout.write(f"{code}  (to be typed at {settings.SITE_URL}/first/)")
