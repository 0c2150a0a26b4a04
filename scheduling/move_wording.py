"""What would come of moving a visit by hand, and pins, in words."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from scheduling.models import Pin, PlannedTask
from scheduling.queries.visits import Block
from scheduling.rule_wording import rule_sentence
from scheduling.services.gives_way import GivesWay
from scheduling.services.moving import MoveAnswer, Spot, Stays
from scheduling.wording import listed, moment, stage_name

_STAYS: dict[str, Promise] = {
    "begun": _("%(piece)s has begun, and goes on where it is"),
    "gone": _("%(piece)s is done or on hold: there is nothing to plan"),
    "past": _("It is over."),
    "under_way": _("It has begun, and goes on where it is."),
}


def why_it_stays(block: Block, now: datetime) -> str:
    """Say why a visit of the plan cannot be moved; "" for one that is yet to begin."""
    if block.ends_at <= now:
        return str(_STAYS["past"])
    return str(_STAYS["under_way"]) if block.starts_at <= now else ""


def piece_sentence(stays: Stays) -> str:
    """Say why a piece of a visit cannot be moved."""
    return str(_STAYS[stays.code]) % {"piece": piece_name(stays.piece)}


def piece_name(row: PlannedTask) -> str:
    """Return what a piece of a visit's work is called."""
    return listed([stage_name(row.stage), row.details.get("room") or row.details.get("job", "")])


def spot_text(spot: Spot) -> str:
    """Return a crew and when it begins, on its clock."""
    return listed([spot.crew.name, moment(spot.starts_at, ZoneInfo(spot.crew.zone))])


def answer_sentence(answer: MoveAnswer) -> str:
    """Say whether a visit holds at a spot, and if not which rule it breaks."""
    zone = ZoneInfo(answer.spot.crew.zone)
    if answer.stays:
        return gettext("It cannot be moved.")
    if answer.in_the_way is None:
        said = gettext("It holds: %(spot)s to %(end)s.")
        end = f"{answer.ends_at.astimezone(zone):%H:%M}" if answer.ends_at else ""
        return said % {"spot": spot_text(answer.spot), "end": end}
    piece, code, at, other = answer.in_the_way
    said = gettext("It does not hold. %(piece)s, %(moment)s: %(rule)s.")
    rule = rule_sentence(code, {"other": other})
    return said % {"piece": piece_name(piece), "moment": moment(at, zone), "rule": rule}


def gives_way_sentence(one: GivesWay) -> str:
    """Say which visit cannot stay, and why."""
    said = gettext("%(visit)s: %(rule)s")
    if one.is_told:
        said = gettext("%(visit)s: %(rule)s (crews have been told of it)")
    return said % {"visit": visit_name(one.block), "rule": rule_sentence(one.code)}


def visit_name(block: Block) -> str:
    """Return a visit as its house, crew, time and stages."""
    stages = listed([stage_name(task.stage) for task in block.tasks])
    at = moment(block.starts_at, ZoneInfo(block.crew.zone))
    return f"{listed([block.house.name, block.crew.name, at])} ({stages})"


def pinned_sentence(block: Block, pins: Mapping[str, Pin], now: datetime) -> str:
    """Say to whom and when a visit's work is pinned, by whom and since when, and whether the plan
    has followed; "" for no pin. pins: by the key of their task. One whose time is over holds
    nothing any more, unless the work is there."""
    found = [(task, pins[task.key]) for task in block.tasks if task.key in pins]
    mine = [(task, pin) for task, pin in found if pin.starts_at >= now or _is_at(task, pin)]
    if not mine:
        return ""
    first = min((pin for _task, pin in mine), key=lambda pin: pin.starts_at)
    said = gettext("Pinned to %(spot)s by %(who)s, %(made)s.")
    if not all(_is_at(task, pin) for task, pin in mine):
        said = gettext(
            "Pinned to %(spot)s by %(who)s, %(made)s; the plan follows once it is made again."
        )
    zone = ZoneInfo(first.crew.zone)
    return said % {
        "spot": listed([first.crew.name, moment(first.starts_at, zone)]),
        "who": maker_name(first),
        "made": moment(first.made_at, zone),
    }


def _is_at(task: PlannedTask, pin: Pin) -> bool:
    return (task.crew_id, task.starts_at) == (pin.crew_id, pin.starts_at)


def maker_name(pin: Pin) -> str:
    """Return who made a pin."""
    return pin.made_by.email if pin.made_by else gettext("the office")
