"""Proposals in words: what each changes, what it brings, why one cannot be accepted."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from scheduling.rule_wording import rule_sentence
from scheduling.wording import day, figure, lateness, listed, moment, stage_name

type Codes = Mapping[str, Any]

_KINDS: dict[str, Promise] = {
    "fewest_changes": _("fewest changes"),
    "between": _("between"),
    "earliest_handovers": _("earliest handovers"),
}
_REFUSALS: dict[str, Promise] = {
    "not_a_proposal": _("that is no proposal of this company"),
    "replanned": _("a later replan has taken its place"),
    "republished": _("revision %(revision)s has been published since: replan first"),
    "begun": _("work that it changes was to begin %(moment)s: replan first"),
    "broken": _("%(work)s, %(moment)s, cannot stay: %(rule)s: replan first"),
}


def kind_name(code: str) -> str:
    return str(_KINDS.get(code, code))


def refusal_sentence(code: str, values: Codes, zone: ZoneInfo) -> str:
    """Say why a proposal cannot be accepted."""
    said = dict(values)
    if "moment" in said:
        said["moment"] = moment(said["moment"], zone)
    if "rule" in said:
        said["work"] = listed([said["house"], stage_name(said["stage"]), said["room"]])
        said["rule"] = rule_sentence(said["rule"])
    return str(_REFUSALS[code]) % said


def proposals_sentence(count: int, revision: int) -> str:
    """Say how many proposals a replan made, and why not three."""
    if count == 1:
        words = gettext("1 proposal against revision %(revision)s; none found is worth more change")
    elif count == 2:
        words = gettext("2 proposals against revision %(revision)s; none found lies well between")
    else:
        words = gettext("%(count)s proposals against revision %(revision)s")
    return words % {"count": count, "revision": revision}


def least_sentence(change: Codes) -> str:
    """Say whether the proposal with the fewest changes is proved to be that."""
    if change.get("least"):
        return gettext("proved: no plan of as much work changes less")
    return gettext("no plan found changes less; not every plan was looked at")


def change_rows(change: Codes, idle_minutes: int) -> list[tuple[str, str]]:
    """Return the figures of a proposal, each with its name; those of the next three days after
    the whole ones."""
    whole, soon = change["figures"], change["soon"]
    names = {
        "visits_moved": gettext("visits to another day or crew (next 3 days)"),
        "crews_changed": gettext("tasks with another crew"),
        "total_shift_hours": gettext("total shift, working hours"),
        "largest_shift_hours": gettext("largest shift, working hours"),
        "reversals": gettext("pairs in another order"),
    }
    rows = [
        (words, f"{figure(whole[name])} ({figure(soon[name])})") for name, words in names.items()
    ]
    missed = [row for row in change["handovers"] if row["late_after"] or is_left_out(row)]
    return [
        *rows,
        (gettext("new visits, visits dropped"), f"{change['new']}, {change['dropped']}"),
        (gettext("handovers late or not planned"), str(len(missed))),
        (gettext("idle hours within days"), figure(idle_minutes / 60)),
        (gettext("hours on the way"), figure(change["travel_minutes"] / 60)),
    ]


def handover_change_sentence(row: Codes, zone: ZoneInfo) -> str:
    """Say when a promise is met before and after."""
    return gettext("%(due)s: %(before)s -> %(after)s") % {
        "due": promise_words(row),
        "before": met_words(row["before"], row["late_before"], zone),
        "after": gettext("all done")
        if row["state"] == "done"
        else met_words(row["after"], row["late_after"], zone),
    }


def is_left_out(row: Codes) -> bool:
    """Return whether a promise is in no plan, and not because all is done."""
    return row["after"] is None and row["state"] != "done"


def promise_words(row: Codes) -> str:
    """Say what is promised for which day."""
    areas = listed(list(row["areas"]))
    what = row["house"] + (f" ({areas})" if areas else "")
    return gettext("%(what)s, due %(day)s") % {"what": what, "day": day(row["due_on"])}


def met_words(at: str | None, late_minutes: int | None, zone: ZoneInfo) -> str:
    """Say when a promise is met, and how late."""
    if at is None:
        return gettext("not planned")
    return listed([moment(at, zone), lateness(late_minutes) if late_minutes else ""])


def freed_sentence(visit: Codes) -> str:
    """Say which visit could not stay where it was published, and why."""
    other = _work(visit["other"])
    words = gettext("pinned") if visit["pinned"] else gettext("in the freeze")
    return gettext("%(house)s, %(visit)s (%(kind)s): %(work)s cannot stay: %(why)s") % {
        "house": visit["house"],
        "visit": span_words(visit),
        "kind": words,
        "work": _work(visit["work"]),
        "why": rule_sentence(visit["code"], {"other": other} if other else None),
    }


def _work(work: Codes) -> str:
    return listed([stage_name(work["stage"]), work["room"]]) if work else ""


def move_sentence(move: Codes) -> str:
    """Say where a published visit was and where its work goes."""
    stages = listed([stage_name(code) for code in move["stages"]])
    goes = "; ".join(span_words(span) for span in move["to"]) or gettext("not planned")
    return gettext("%(house)s, %(stages)s: %(before)s -> %(after)s") % {
        "house": move["house"],
        "stages": stages,
        "before": span_words(move["from"]),
        "after": goes,
    }


def span_words(span: Codes) -> str:
    """Say which crew is somewhere from when to when, on its own clock."""
    zone = ZoneInfo(span["zone"])
    ends = datetime.fromisoformat(span["ends_at"]).astimezone(zone)
    return f"{span['crew']} {moment(span['starts_at'], zone)}-{ends:%H:%M}"
