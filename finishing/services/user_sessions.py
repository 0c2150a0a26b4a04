"""Where somebody is signed in: noted when they sign in, listed, ended."""

from collections.abc import Sequence
from datetime import datetime

from django.contrib.sessions.models import Session
from django.db import transaction

from finishing.models import User, UserSession

LONGEST_BROWSER = 250


def note_session(
    *, user: User, session_key: str, address: str | None, browser: str, now: datetime
) -> UserSession:
    """Store that a browser is signed in; address: of who asked, None where it is not known."""
    row = UserSession(
        company=user.company,
        user=user,
        session_key=session_key,
        began_at=now,
        address=address,
        browser=browser[:LONGEST_BROWSER],
    )
    row.full_clean()
    row.save()
    return row


def open_sessions(*, user: User, now: datetime) -> Sequence[UserSession]:
    """Return where somebody is signed in, the newest first."""
    rows = UserSession.objects.filter(user=user)
    alive = Session.objects.filter(expire_date__gt=now)
    return list(rows.filter(session_key__in=alive.values("session_key")))


@transaction.atomic
def end_sessions(*, user: User, only: UserSession | None = None, but: str | None = None) -> int:
    """Sign somebody out at once: everywhere, in one browser, or everywhere but in the one with
    this session key. Return how many browsers that were."""
    rows = UserSession.objects.filter(user=user)
    if only is not None:
        rows = rows.filter(pk=only.pk)
    if but is not None:
        rows = rows.exclude(session_key=but)
    keys = list(rows.values_list("session_key", flat=True))
    ended, _ = Session.objects.filter(session_key__in=keys).delete()
    rows.delete()
    return ended
