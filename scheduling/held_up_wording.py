"""What an open readiness line holds up, in words."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext

from scheduling.wording import day, listed, stage_name


def holds_up_sentence(held: Sequence[str], left: Sequence[str], expected_on: date | None) -> str:
    """Say what a line holds up, and how long.

    held: the stages that need it. left: all stages still to do in the house.
    """
    if not held:
        return gettext("Holds nothing up at present.")
    whole = list(held) == list(left)
    work = gettext("all that is left here") if whole else listed([stage_name(s) for s in held])
    if expected_on is None:
        return gettext("Holds up %(work)s: without a day it cannot be planned.") % {"work": work}
    said = gettext("Holds up %(work)s until %(day)s is over.")
    return said % {"work": work, "day": day(expected_on)}
