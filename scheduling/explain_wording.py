"""What would cure a late house, and which rules conflict: codes and values -> sentences."""

from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from scheduling.wording import Codes, day, lateness, listed, moment, stage_name

_GROUNDS: dict[str, Promise] = {
    "load": _("the other work of the crews"),
    "setup": _("set-up and wash-up"),
    "travel": _("the crews' ways between houses and to their base"),
    "equipment": _("the equipment there is"),
    "full": _("how many crews the house holds at once"),
    "alone": _("work that bars the way through the house"),
    "room": _("one thing at a time in the room"),
    "grade": _("nothing harder over something softer"),
    "dust": _("no sanding beside a wet coat"),
    "run": _("one crew for the stage, room after room"),
    "fixed": _("work that stays where it is"),
    "lag": _("how soon it must follow on what comes before it"),
    "release": _("the day from which it may begin"),
    "opens": _("the day from which the house is ready"),
    "access": _("the hours at which the house is open to crews"),
    "closed": _("the days on which others have the area"),
    "starts": _("the air, which must be fit for it"),
    "batch": _("the last mix, which must not come too close to the end of the day"),
    "one_go": _("work at one go, not over several days"),
    "skill": _("the skills it asks of a crew"),
    "hours": _("the crews' working hours"),
}


def cure_sentence(cure: Codes, zone: ZoneInfo) -> str:
    """Say what would help a late house and by how much, in the house's zone."""
    days = cure["days_saved"]
    saved = ngettext("saves %(n)s day", "saves %(n)s days", days) % {"n": days}
    if not days:
        hours = -(-cure["saved_minutes"] // 60)
        saved = ngettext("saves %(n)s hour", "saves %(n)s hours", hours) % {"n": hours}
    left = lateness(cure["left_minutes"]) if cure["left_minutes"] else gettext("then in time")
    return f"{capfirst(_what(cure, zone))}: {saved}, {left}"


def not_worked_out(reason: str) -> str:
    """Say that there is no answer, and why."""
    return gettext("what would help could not be worked out: %(reason)s") % {"reason": reason}


def _what(cure: Codes, zone: ZoneInfo) -> str:
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
        case "dryer":
            words = gettext("%(dryer)s in the house from about %(from)s to %(to)s")
            if cure["more"]:
                words = gettext("one more %(dryer)s in the house from about %(from)s to %(to)s")
            ends = {name: moment(cure[name], zone) for name in ("from", "to")}
            return words % {"dryer": cure["dryer"], **ends}
        case "compound":
            words = gettext("%(compound)s for: %(stage)s")
            return words % {"compound": cure["compound"], "stage": stage_name(cure["stage"])}
    return str(cure["code"])


def conflict_sentence(conflict: Codes) -> str:
    """Say which rules together were found to leave a piece of work no place."""
    work = _work(conflict["task"], conflict["room"])
    if conflict["failure"]:
        return gettext("%(work)s: why it has no place could not be worked out: %(reason)s") % {
            "work": work,
            "reason": conflict["failure"],
        }
    said = [_ground(ground, conflict["task"]) for ground in conflict["grounds"]]
    grounds = "; ".join(dict.fromkeys(said))
    if not grounds:
        return gettext("%(work)s: no set of rules found that alone rules it out") % {"work": work}
    return gettext("%(work)s: no place found, because of: %(grounds)s") % {
        "work": work,
        "grounds": grounds,
    }


def _ground(ground: Codes, task: str) -> str:
    if ground["code"] == "wait":
        return gettext("the wait after %(work)s") % {
            "work": _work(ground["other"], ground["other_room"])
        }
    words = str(_GROUNDS.get(ground["code"], ground["code"]))
    what = "" if ground["task"] == task else _work(ground["task"], ground["room"])
    return f"{words} ({what})" if what else words


def _work(task: str, room: str) -> str:
    return listed([stage_name(([*task.split(":"), ""])[1]), room])
