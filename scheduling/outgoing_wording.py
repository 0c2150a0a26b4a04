"""What is sent out, in words for the office: what it is, and how it stands."""

from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext

from scheduling.models import Outgoing
from scheduling.wording import listed, moment

State = Outgoing.State


def outgoing_name(row: Outgoing) -> str:
    """Say what a row is: of which revision, about which crew."""
    values = {"revision": row.publication.revision} if row.publication else {}
    revision = gettext("revision %(revision)s") % values if values else ""
    return listed([row.crew.name if row.crew else "", revision])


def state_sentence(row: Outgoing, zone: ZoneInfo) -> str:
    """Say how a row stands, on the company's clock."""
    at = moment(row.ended_at, zone) if row.ended_at else ""
    if row.state == State.SENT:
        return gettext("sent %(at)s") % {"at": at}
    if row.state == State.OVERTAKEN:
        return gettext("not sent: it was not needed any more %(at)s") % {"at": at}
    if row.state == State.GIVEN_UP:
        return gettext("given up %(at)s: %(why)s") % {"at": at, "why": row.error}
    if not row.error:
        return gettext("waits to be sent")
    said = ngettext(
        "failed once: %(why)s; tried again %(at)s",
        "failed %(n)s times: %(why)s; tried again %(at)s",
        row.attempts,
    )
    return said % {"n": row.attempts, "why": row.error, "at": moment(row.due_at, zone)}
