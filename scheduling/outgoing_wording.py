"""What is sent out, in words for the office: what it is, and how it stands."""

from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.models import CalendarPush, Outgoing, Webhook
from scheduling.services.webhooks import TEST
from scheduling.wording import listed, moment

State = Outgoing.State


def outgoing_name(row: Outgoing) -> str:
    """Say what a row is: about which crew, which event, of which revision."""
    values = {"revision": row.publication.revision} if row.publication else {}
    revision = gettext("revision %(revision)s") % values if values else ""
    is_event = row.kind == Outgoing.Kind.WEBHOOK
    event = str(_HAPPENED.get(row.payload["type"], "")) if is_event else ""
    what = listed([row.crew.name if row.crew else "", event, revision])
    return what or gettext("all that has changed")


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
        "failed once: %(why)s; next attempt %(at)s",
        "failed %(n)s times: %(why)s; next attempt %(at)s",
        row.attempts,
    )
    return said % {"n": row.attempts, "why": row.error, "at": moment(row.due_at, zone)}


EVENTS: dict[str, Promise] = {
    Webhook.Event.PUBLISHED: _("publications, with what is different visit by visit"),
    Webhook.Event.BEFORE_DRY: _("visits that arrive too early for a coat"),
}
_HAPPENED: dict[str, Promise] = {
    Webhook.Event.PUBLISHED: _("publication"),
    Webhook.Event.BEFORE_DRY: _("a visit too early for a coat"),
    TEST: _("a test"),
}
_ADDRESS_FAULTS: dict[str, Promise] = {
    "not_an_address": _("This is not an address: write one like https://hooks.example.org/us."),
    "not_https": _("It has to begin with https://."),
    "sign_in_inside": _("Leave the user name and password out of the address."),
    "host_not_allowed": _("Its host is not one that whoever runs this server has listed."),
    "address_taken": _("This address is there already."),
}


def address_fault(code: str) -> str:
    """Say what is wrong with an address; what is no code is said as it is."""
    return str(_ADDRESS_FAULTS.get(code, code))


def endpoint_name(row: Webhook | CalendarPush) -> str:
    """Say what an endpoint is told of, or what is put there."""
    if isinstance(row, Webhook):
        return "; ".join(str(EVENTS.get(event, event)) for event in row.events)
    return gettext("calendar of %(name)s") % {"name": row.link}


def endpoint_sentence(row: Webhook | CalendarPush, zone: ZoneInfo) -> str:
    """Say how an endpoint stands, on the company's clock."""
    if row.off_at is not None:
        off = {
            row.Off.FAILING: gettext("switched off %(at)s: nothing could be sent for half a day"),
            row.Off.GONE: gettext("switched off %(at)s: the other side wants no more of it"),
        }
        said = off.get(row.Off(row.off_why), gettext("switched off %(at)s"))
        return said % {"at": moment(row.off_at, zone)}
    if isinstance(row, CalendarPush) and row.ending_at is not None:
        said = gettext("being taken out since %(at)s, then it goes from this list")
        return said % {"at": moment(row.ending_at, zone)}
    if row.answered_at is None:
        return gettext("nothing has been sent yet")
    return gettext("took something last %(at)s") % {"at": moment(row.answered_at, zone)}
