"""What the page of one's own account shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from ua_parser import parse

from finishing.models import User, UserSession
from finishing.services.second_step import has_second_step
from finishing.services.user_sessions import open_sessions
from scheduling.wording import moment


@dataclass(frozen=True)
class SessionLine:
    """A browser that is signed in. is_here: the one that looks at the page."""

    row: UserSession
    browser: str
    since: str
    is_here: bool


@dataclass(frozen=True)
class AccountPage:
    """All that the page shows."""

    person: User
    sessions: Sequence[SessionLine]
    has_second_step: bool


def account_page(person: User, session_key: str | None, *, now: datetime) -> AccountPage:
    """Return the page for somebody who looks at it in the browser of this session."""
    assert person.company
    zone = ZoneInfo(person.company.zone)
    lines = [
        SessionLine(
            row,
            browser_name(row.browser),
            moment(row.began_at, zone),
            row.session_key == session_key,
        )
        for row in open_sessions(user=person, now=now)
    ]
    return AccountPage(person, lines, has_second_step(person))


def browser_name(said: str) -> str:
    """Return what a browser says that it is, as people know it; what it said where none does."""
    found = parse(said)
    names = [found.user_agent and found.user_agent.family, found.os and found.os.family]
    known = " · ".join(name for name in names if name)
    return known or said[:60] or _("a browser that does not say which")
