"""What "not dry yet" has come to -> sentences."""

from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from finishing.rules.thickness import HouseCode
from scheduling.services.shown_looks import NumberedLook, ShownLooks
from scheduling.wording import figure, moment, stage_name


def look_sentence(look: NumberedLook, zone: ZoneInfo) -> str:
    """Say which coat was found wet when, and what that says of it."""
    found = _("%(coat)s (%(room)s) found wet %(moment)s") % {
        "coat": stage_name(look.stage),
        "room": look.room.name,
        "moment": moment(look.report.at, zone),
    }
    return f"{found}: {_said_of(look)}"


def factor_sentence(shown: ShownLooks, zone: ZoneInfo) -> str:
    """Say how much longer all coats of a house are taken to dry, and since when."""
    if shown.since is None:
        return _("The other coats of the house are taken to dry as usual.")
    values = {"more": _more(shown.house.factor), "since": moment(shown.since, zone)}
    said = _("Since %(since)s every coat of the house is taken to need %(more)s more drying.")
    if shown.house.code is HouseCode.THICKER_AT_BOUND:
        said += " " + _("They say %(say)s, more than thickness explains: look for a cause.")
        values["say"] = _more(shown.house.coats_say)
    return said % values


def _said_of(look: NumberedLook) -> str:
    if look.report.set_aside:
        return _("set aside")
    if look.coat is None:
        return _("it was not done by then, so this says nothing")
    if not look.coat.extra:
        return _("as was to be expected")
    return _("it needs %(more)s more drying") % {
        "more": _more(1 + look.coat.extra / look.coat.amount)
    }


def _more(factor: float) -> str:
    return f"{figure((factor - 1) * 100)} %"
