"""The rules of a plan in words, for places that break one."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

_RULES: dict[str, Promise] = {
    "crew_unknown": _("the crew gets no new work"),
    "skill": _("nobody of the crew who is there then can do it"),
    "outside_window": _("it does not fit the crew's working hours, set-up and wash-up included"),
    "duration": _("it takes the crew longer than that"),
    "batch": _("the last mix would come too close to the end of the day"),
    "base": _("the crew's way to the house or back does not fit its day"),
    "before_now": _("it is too late for that"),
    "release": _("the house is not open or not ready then, or a coat under it is not dry"),
    "after_horizon": _("it is too far ahead"),
    "start": _("the air is not fit for this coat then"),
    "not_open": _("others have the area then"),
    "house_closed": _("the house is closed then"),
    "overlap_crew": _("the crew is at other work then"),
    "travel": _("the crew cannot be there in time from its other work"),
    "room_overlap": _("someone is at work in the room then"),
    "alone": _("work that bars the way through the house runs then"),
    "crews_inside": _("the house is full of crews then"),
    "equipment": _("the equipment it needs is in use then"),
    "grade": _("a harder compound would go over a softer one"),
    "wait": _("what it waits for is not ready by then"),
    "lag": _("it must follow sooner on what comes before it"),
    "run_crew": _("one crew does this stage through all rooms"),
    "run_order": _("the room before it is not done by then"),
    "dust_beside_wet": _("no sanding beside a wet coat"),
    "gone": _("there is no such work to plan by now"),
    "pinned_elsewhere": _("it is pinned to another crew or time"),
    "around": _("the other work does not fit around it"),
}


def rule_sentence(code: str, values: Mapping[str, str] | None = None) -> str:
    """Say which rule is broken; with ``values`` also by how it stands to what other work."""
    words = str(_RULES.get(code, code))
    other = (values or {}).get("other", "")
    return gettext("%(rule)s (%(other)s)") % {"rule": words, "other": other} if other else words
