"""Codes and values -> words and short sentences. A code without words is shown as it is."""

from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext, ngettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

type Codes = Mapping[str, Any]
"""A code with its values, as plans store them."""

_STAGES: dict[str, Promise] = {
    "prefill": _("Pre-fill and beads"),
    "tape": _("Tape coat"),
    "second": _("Second coat"),
    "finish": _("Finish coat"),
    "other_face": _("Second face of corners"),
    "sand": _("Sanding"),
    "skim": _("Skim coat"),
    "skim_sand": _("Sanding of the skim"),
    "cornice": _("Cornice"),
    "inspect": _("Lamp inspection"),
    "primer_touch_up": _("Touch-up after primer"),
    "trades_touch_up": _("Touch-up after other trades"),
    "odd_job": _("Odd job"),
}
_JOINTS: dict[str, Promise] = {
    "tapered": _("flat joints"),
    "butt": _("butt joints"),
    "internal": _("internal corners"),
    "external": _("external corners"),
    "fasteners": _("fastener heads"),
    "surface": _("whole surface"),
    "cornice": pgettext_lazy("metres of", "cornice"),
}
_PARTS: dict[str, Promise] = {"ceiling": _("ceiling"), "walls": _("walls")}
_UNITS: dict[str, Promise] = {"m": _("m"), "m2": _("m²"), "each": pgettext_lazy("count of", "pcs")}
_TOOLS: dict[str, Promise] = {
    "mixer": _("mixer and clean buckets"),
    "knife_150": _("150 mm knife"),
    "knife_200": _("200 mm knife"),
    "knife_250": _("250 mm knife"),
    "knife_300": _("300 mm knife"),
    "skimming_blade": _("skimming blade"),
    "corner_tool": _("corner tool"),
    "tape_reel": _("tape and reel"),
    "pole_sander": _("pole sander and paper"),
    "vacuum": _("vacuum for fine dust"),
    "respirator": _("respirators"),
    "lamp": _("inspection lamp"),
    "mitre_saw": _("mitre saw"),
}
_READINESS: dict[str, Promise] = {
    "boarded": _("boarded"),
    "inspected": _("fixings and blocking inspected"),
    "closed_up": _("closed up against the weather"),
    "power": _("power"),
    "water": _("water"),
    "heat": _("heat"),
    "light": _("light to work by"),
    "clear_floors": _("clear floors"),
    "way_in": _("way in"),
    "primed": _("primed by the painter"),
    "trades_done": _("other trades done"),
}
_WHY: dict[str, Promise] = {
    "run": _("follows the room before it in one run"),
    "crew": _("the crew is at work until then"),
    "travel": _("the crew is on its way until then"),
    "room": _("someone is at work in the room until then"),
    "dust": _("no sanding beside a wet coat"),
    "release": _("the house is not open or not ready before then"),
    "delivery": _("its material is not there before then"),
    "starts": _("its air is not fit for this coat before then"),
    "area": _("others have the area until then"),
    "access": _("the house is closed to crews before then"),
    "base": _("the crew is on its way from its base until then"),
    "full": _("as many crews as may be are in the house until then"),
    "alone": _("one of the two needs the house to itself"),
    "equipment": _("what it needs is in use until then"),
    "lag": _("it may not end too long before what comes after it"),
    "window": _("the crew's working hours begin then"),
    "now": _("as early as this plan goes"),
    "fixed": _("published for then, and kept"),
    "started": _("it has begun, and goes on"),
    "frozen": _("published for then, and too near to be moved"),
    "pinned": _("pinned to then by the office"),
    "together": _("kept with the crew's other work: earlier costs idle time or a visit"),
    "free": _("nothing holds it there; it may come earlier"),
}
_AIR: dict[str, Promise] = {
    "reading": _("as read in the house"),
    "logger": _("as logged in the house"),
    "record": _("on record"),
    "forecast": _("as forecast"),
    "assumed": _("as assumed"),
}
_HOLDS: dict[str, Promise] = {
    "no_crew": _("no crew can do this"),
    "too_long": _("it is longer than any working day of the crews that can do it"),
    "no_open_time": _("the crews, the house and the air leave no time for it"),
    "no_room": _("the crews' time is taken"),
    "after_unplaced": _("it waits for work that could not be planned"),
    "fixed_clash": _("what is published clashes with a rule"),
    "too_cold": _("the air is too cold for it"),
    "too_hot": _("the air is too hot for it"),
    "not_ready": _("the house is not ready"),
    "too_little_air": _(
        "too few days of the season are on record to say how damp its air may become"
    ),
    "no_air": _("fewer than 24 hours of its air are on record"),
    "which_air": _("there is no air for it: import a station's, or name one of several"),
    "odd_volume": _("no house holds so little air: set its volume or its rooms' sizes right"),
    "odd_air_changes": _("no house has so few air changes an hour: set them right"),
    "odd_heat": _("no heater gives so little: set its heaters right"),
    "odd_setpoint": _("no house is held so cold or so hot: set what it is heated to right"),
    "no_compound": _("its jointing system has no compound for it"),
    "may_not_do_stage": _("its compound may not be used for it"),
    "deep_fill_dries": _("a drying compound may not fill deep gaps"),
    "may_not_bed_tape": _("its compound may not bed this tape"),
    "mesh_needs_setting": _("mesh tape asks for a setting compound"),
    "hard_over_soft": _("a hard setting coat may not go over a softer one"),
}


def stage_name(code: str) -> str:
    return _stage_name(code, get_language())


@cache  # weeks of 40 houses name thousands of stages
def _stage_name(code: str, language: str | None) -> str:  # noqa: ARG001 - the language is active
    return _said(_STAGES, code)


def joint_name(code: str) -> str:
    return _said(_JOINTS, code)


def part_name(code: str) -> str:
    return _said(_PARTS, code)


def tool_name(code: str) -> str:
    return _said(_TOOLS, code)


def readiness_name(code: str) -> str:
    return _said(_READINESS, code)


def hold_name(code: str) -> str:
    """Say why something could not be planned."""
    return _said(_HOLDS, code)


def governs_name(code: str, air: str = "") -> str:
    """Say what a wait rests on: the rule of the trade, the air (with where that comes from), or
    the setting of the compound."""
    if code == "air" and air:
        return gettext("by the air %(known)s") % {"known": air_known(air)}
    words = {
        "rule": gettext("by the rule"),
        "air": gettext("by the air"),
        "set": gettext("by its setting"),
        "dryer": gettext("for the dryer that goes with it"),
        "recheck": gettext("at the next look, as it was found wet"),
    }
    return words.get(code, code)


def air_known(code: str) -> str:
    """Say how the air of an hour is known."""
    return _said(_AIR, code)


def quantity(value: float, unit: str) -> str:
    """Return a figure with its unit, to one decimal where it has one."""
    return f"{figure(value)} {_said(_UNITS, unit)}"


def figure(value: float) -> str:
    rounded = round(value, 1) or 0.0  # a little below nothing is no minus nothing
    return number_format(rounded, decimal_pos=0 if rounded == int(rounded) else 1)


def moment(instant: datetime | str, zone: ZoneInfo) -> str:
    """Return an instant (or its ISO text) as a local weekday, day and time."""
    value = datetime.fromisoformat(instant) if isinstance(instant, str) else instant
    return date_format(value.astimezone(zone), "D j M H:i")


def day(value: date | str) -> str:
    return date_format(date.fromisoformat(value) if isinstance(value, str) else value, "D j M")


def listed(words: list[str]) -> str:
    """Join words, each once, in the order in which they come."""
    return ", ".join(dict.fromkeys(word for word in words if word))


def ready_sentence(ready_at: datetime | str | None, details: Codes, zone: ZoneInfo) -> str:
    """Say when what a task leaves is dry or set and what that rests on; "" if it leaves nothing."""
    if ready_at is None:
        return ""
    leaves = details.get("leaves") or {}
    state = gettext("set") if details.get("hardening") == "sets" else gettext("dry")
    said = gettext("planned %(state)s %(moment)s") % {
        "state": state,
        "moment": moment(ready_at, zone),
    }
    governs = leaves.get("governs", "")
    if governs not in ("rule", "air"):
        return said
    return listed([said, governs_name(governs, leaves.get("air", ""))])


def why_sentence(why: Codes | None, zone: ZoneInfo) -> str:
    """Say why a task is not earlier; "" where nothing is known."""
    if not why or not why.get("code"):
        return ""
    said = _why_words(why, zone)
    if why["code"] != "wait" or why.get("reason") == "order" or not why.get("ready_at"):
        return said
    if why.get("reason") == "set":
        return said + ". " + gettext("Planned: check that it is set before coating.")
    return said + ". " + gettext("Planned: check that it is dry before coating.")


def chain_sentence(link: Codes, zone: ZoneInfo) -> str:
    """Say of one task in the chain behind a late promise when it is and why not earlier."""
    stage = stage_name([*str(link.get("task", "")).split(":"), ""][1])
    what = listed([stage, str(link.get("room", "")), str(link.get("house", ""))])
    if link["why"].get("code") == "dries":
        dry = moment(link["why"]["ready_at"], zone)
        return gettext("%(what)s: dry or set only %(moment)s") % {"what": what, "moment": dry}
    said = f"{what}, {moment(link['starts_at'], zone)}: {_why_words(link['why'], zone)}"
    behind = link.get("behind")
    return f"{said}. {_why_words(behind, zone)}" if behind else said


def _why_words(why: Codes, zone: ZoneInfo) -> str:
    if why["code"] == "wait":
        return _wait_words(why, zone)
    said = capfirst(_said(_WHY, why["code"]))
    return f"{said}: {_other_stage(why)}{_at(why)}" if why.get("other") else said


def _wait_words(why: Codes, zone: ZoneInfo) -> str:
    other = _other_stage(why) + _at(why)
    if why.get("reason") == "order" or not why.get("ready_at"):
        return gettext("Comes after: %(other)s") % {"other": other}
    return gettext("Waits for: %(other)s, ready %(moment)s %(governs)s") % {
        "other": other,
        "moment": moment(why["ready_at"], zone),
        "governs": governs_name(why.get("reason", ""), why.get("air", "")),
    }


def _other_stage(why: Codes) -> str:
    """A task's key is its room or job, its stage, and perhaps a part."""
    return stage_name(([*str(why.get("other", "")).split(":"), ""])[1]) or gettext("earlier work")


def _at(why: Codes) -> str:
    place = listed([str(why.get("room", "")), str(why.get("house", ""))])
    return f" ({place})" if place else ""


def hold_sentence(hold: Codes) -> str:
    """Say what could not be planned and why."""
    place = listed([hold.get("house", ""), hold.get("area", "")])
    work = hold.get("job") or listed([stage_name(code) for code in hold.get("stages") or []])
    what = " · ".join(part for part in (place, work) if part)
    said = [f"{what}: {_said(_HOLDS, hold.get('code', ''))}"]
    if hold.get("heat_on_by"):
        said.append(gettext("heat on by %(day)s") % {"day": day(hold["heat_on_by"])})
    return ", ".join(said + [_owed(line) for line in hold.get("items") or []])


def _owed(line: Codes) -> str:
    name = readiness_name(line["item"])
    if not line.get("owed_by"):
        return name
    return gettext("%(item)s (owed by %(name)s)") % {"item": name, "name": line["owed_by"]}


def handover_sentence(handover: Codes, zone: ZoneInfo) -> str:
    """Say when a handover is due and met, in the house's zone."""
    areas = listed(list(handover.get("areas") or []))
    what = handover.get("house", "") + (f" ({areas})" if areas else "")
    due = gettext("%(what)s: due %(day)s") % {"what": what, "day": day(handover["due_on"])}
    if handover.get("state") == "done":
        return due + ", " + gettext("all done")
    if not handover.get("met_at"):
        return due + ", " + gettext("cannot be met as planned")
    met = gettext("ready %(moment)s") % {"moment": moment(handover["met_at"], zone)}
    minutes = handover.get("late_minutes") or 0
    return f"{due}, {met}" + (f", {lateness(minutes)}" if minutes else "")


def lateness(minutes: int) -> str:
    """Say how late something is: in hours up to a day, then in days, rounded up."""
    hours = -(-minutes // 60)
    if hours <= 24:
        return ngettext("%(n)s hour late", "%(n)s hours late", hours) % {"n": hours}
    days = -(-hours // 24)
    return ngettext("%(n)s day late", "%(n)s days late", days) % {"n": days}


def _said(words: Mapping[str, Promise], code: str) -> str:
    return str(words[code]) if code in words else str(code)
