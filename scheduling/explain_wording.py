"""What would cure a late house, and which rules conflict: codes and values -> sentences."""

from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.wording import Codes, day, lateness, listed, stage_name

_GROUNDS: dict[str, Promise] = {
    "skill": _("the skills it asks of a crew"),
    "hours": _("the crews' working hours"),
    "access": _("the hours at which the house is open to crews"),
    "starts": _("the air, which must be fit for it"),
    "closed": _("the days on which others have the area"),
    "release": _("the day from which it may begin"),
    "fixed": _("work that stays where it is"),
    "load": _("the other work of the crews"),
}


def cure_sentence(cure: Codes) -> str:
    """Say what would help a late house and by how much."""
    days = cure["days_saved"]
    saved = ngettext("saves %(n)s day", "saves %(n)s days", days) % {"n": days}
    if not days:
        hours = -(-cure["saved_minutes"] // 60)
        saved = ngettext("saves %(n)s hour", "saves %(n)s hours", hours) % {"n": hours}
    left = lateness(cure["left_minutes"]) if cure["left_minutes"] else gettext("then in time")
    return f"{capfirst(_what(cure))}: {saved}, {left}"


def not_worked_out(reason: str) -> str:
    """Say that there is no answer, and why."""
    return gettext("what would help could not be worked out: %(reason)s") % {"reason": reason}


def _what(cure: Codes) -> str:
    match cure["code"]:
        case "crew_day":
            words = gettext("one more day of %(crew)s, %(day)s")
            return words % {"crew": cure["crew"], "day": day(cure["day"])}
        case "overtime":
            words = ngettext(
                "one more hour of %(crew)s on its day at the house",
                "one more hour of %(crew)s on each of its %(days)s days at the house",
                cure["days"],
            )
            return words % {"crew": cure["crew"], "days": cure["days"]}
        case "release":
            words = ngettext(
                "the house ready %(days)s day earlier",
                "the house ready %(days)s days earlier",
                cure["days"],
            )
            return words % {"days": cure["days"]}
        case "compound":
            words = gettext("%(compound)s for: %(stage)s")
            return words % {"compound": cure["compound"], "stage": stage_name(cure["stage"])}
    return str(cure["code"])


def conflict_sentence(conflict: Codes) -> str:
    """Say which rules together leave a piece of work no place."""
    work = _work(conflict["task"], conflict["room"])
    grounds = listed([_ground(ground, conflict["task"]) for ground in conflict["grounds"]])
    if not grounds:
        return gettext("%(work)s: no set of rules found that alone rules it out") % {"work": work}
    return gettext("%(work)s has no place because of: %(grounds)s") % {
        "work": work,
        "grounds": grounds,
    }


def _ground(ground: Codes, task: str) -> str:
    if ground["code"] == "wait":
        return gettext("the wait after %(work)s") % {
            "work": _work(ground["other"], ground["other_room"])
        }
    words = str(_GROUNDS.get(ground["code"], ground["code"]))
    if ground["task"] and ground["task"] != task:
        return f"{words} ({_work(ground['task'], ground['room'])})"
    return words


def _work(task: str, room: str) -> str:
    return listed([stage_name(([*task.split(":"), ""])[1]), room])
