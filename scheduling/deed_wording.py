"""What people did, in words, for the page of the trail."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from finishing.models import Deed, Role
from scheduling.wording import moment

_SENT_TO: dict[str, Promise] = {
    "webhook": gettext_lazy("webhook"),
    "calendarpush": gettext_lazy("calendar"),
}
_WHY: dict[str, Promise] = {
    "failing": gettext_lazy(": nothing could be sent for half a day"),
    "gone": gettext_lazy(": the other side wants no more of it"),
    "emptied": gettext_lazy(", and what was put there is to be taken out first"),
}


def doer(person: object, program: str) -> str:
    """Say who did something, from a page, by a program for them, or a program on its own; ""
    where a command did it."""
    said = str(person) if person else ""
    if said and program:
        return _("%(person)s, by %(program)s") % {"person": said, "program": program}
    return said or program


def deed_sentence(deed: Deed, zone: ZoneInfo) -> str:
    """Say what was done, of what; zone: in which hours are told."""
    code, values = Deed.Code, {"about": deed.about, **_said(deed, zone)}
    words = {
        code.PUBLISHED: _("Published revision %(about)s"),
        code.TOOK_BACK: _("Took revision %(about)s back"),
        code.PINNED: _("Pinned a visit at %(about)s: %(crew)s, %(starts_at)s"),
        code.UNPINNED: _("Ended a pin: %(crew)s, %(starts_at)s"),
        code.LINK_MADE: _("Made a calendar address: %(about)s"),
        code.LINK_RENEWED: _("Gave a new secret address: %(about)s"),
        code.LINK_REVOKED: _("Revoked a secret address: %(about)s"),
        code.FIRST_OWNER: _("Became the first owner"),
        code.INVITED: _("Invited %(about)s as %(after)s"),
        code.INVITATION_WITHDRAWN: _("Withdrew the invitation of %(about)s"),
        code.JOINED: _("Took up the invitation, as %(after)s"),
        code.ROLE_CHANGED: _("Made %(about)s %(after)s instead of %(before)s"),
        code.REMOVED: _("Removed %(about)s"),
        code.TOKEN_MADE: _("Made a token of the API: %(about)s"),
        code.TOKEN_REVOKED: _("Revoked a token of the API: %(about)s"),
        code.SENDING_BEGUN: _("Began to send to the %(what)s at %(about)s"),
        code.SENDING_OFF: _("Switched off the %(what)s at %(about)s%(why)s"),
        code.SENDING_ON: _("Switched on the %(what)s at %(about)s"),
        code.SENDING_RENEWED: _("Gave the %(what)s at %(about)s a new secret"),
        code.SENDING_REMOVED: _("Removed the %(what)s at %(about)s%(why)s"),
    }
    return words[code(deed.code)] % values


def _said(deed: Deed, zone: ZoneInfo) -> dict[str, str]:
    """Return a deed's values as people read them."""
    roles = dict(Role.choices)
    said = {name: str(roles.get(value, value)) for name, value in deed.values.items()}
    if "what" in said:
        said |= {"what": str(_SENT_TO[said["what"]]), "why": str(_WHY.get(said["why"], ""))}
    if "starts_at" in said:
        said["starts_at"] = moment(datetime.fromisoformat(said["starts_at"]), zone)
    return said
