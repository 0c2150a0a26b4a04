"""Proposals side by side in words: their figures, each promise and each visit, before and after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext

from scheduling.change_wording import is_left_out, met_words, promise_words, span_words
from scheduling.wording import figure, listed, stage_name

type Codes = Mapping[str, Any]

MINUTES_A_DAY = 24 * 60


@dataclass(frozen=True)
class Compared:
    """One thing as crews have been told it (blank: nothing to compare with), and as it is in each
    proposal. late: where it is late, before and in each."""

    name: str
    before: str
    after: tuple[str, ...]
    was_late: bool = False
    late: tuple[bool, ...] = ()


def compared_figures(changes: Sequence[Codes], idle_minutes: Sequence[int]) -> list[Compared]:
    """Return the figures of proposals, in the order of the proposals."""
    told = changes[0].get("told", {})

    def each(name: str, *values: object, before: object = "") -> Compared:
        return Compared(name, str(before), tuple(str(value) for value in values))

    def hours(name: str, minutes: str) -> Compared:
        after = tuple(_hours(change.get(minutes)) for change in changes)
        return Compared(name, _hours(told.get(minutes)), after)

    moved = [gettext("%(n)s (%(soon)s)") % _moved(change) for change in changes]
    return [
        each(
            gettext("Handovers late or not planned"),
            *(_missed(change["handovers"]) for change in changes),
            before=_were_missed(changes[0]["handovers"]),
        ),
        each(
            gettext("Days late, all handovers added"),
            *(_days_late(change, "after") for change in changes),
            before=_days_late(changes[0], "before"),
        ),
        each(gettext("Visits to another day or crew (next 3 days)"), *moved),
        each(gettext("Tasks with another crew"), *_figures(changes, "crews_changed")),
        each(gettext("Largest shift, working hours"), *_figures(changes, "largest_shift_hours")),
        each(gettext("New visits"), *(change["new"] for change in changes)),
        each(gettext("Visits dropped"), *(change["dropped"] for change in changes)),
        Compared(
            gettext("Idle hours within days"),
            _hours(told.get("idle_minutes")),
            tuple(_hours(minutes) for minutes in idle_minutes),
        ),
        hours(gettext("Hours on the way"), "travel_minutes"),
        hours(gettext("Extra hours worked"), "extra_minutes"),
    ]


def compared_handovers(
    changes: Sequence[Codes], zone: ZoneInfo, of_houses: Mapping[str, ZoneInfo]
) -> list[Compared]:
    """Return each promise that is late, not planned, or met at another time, before or in any
    proposal, by the clock of its house. zone: of houses that have another name by now."""
    by_promise = [{promise_words(row): row for row in change["handovers"]} for change in changes]
    names = dict.fromkeys(name for rows in by_promise for name in rows)
    lines = []
    for name in names:
        rows = [proposal.get(name) for proposal in by_promise]
        known = next(row for row in rows if row)
        if not any(row and _worth_telling(row) for row in rows):
            continue
        clock = of_houses.get(known["house"], zone)
        lines.append(
            Compared(
                name,
                met_words(known["before"], known["late_before"], clock),
                tuple(_after_words(row, clock) for row in rows),
                bool(known["late_before"]),
                tuple(bool(row and (row["late_after"] or is_left_out(row))) for row in rows),
            )
        )
    return lines


def compared_visits(changes: Sequence[Codes]) -> list[Compared]:
    """Return each published visit that any proposal moves, in order of time: where it was, and
    where its work goes."""
    by_visit = [{_visit_key(move): move for move in change["moves"]} for change in changes]
    keys = {key for moves in by_visit for key in moves}
    lines = []
    for key in sorted(keys, key=lambda key: (key[2], key)):
        moves = [proposal.get(key) for proposal in by_visit]
        there = [move for move in moves if move]
        stages = dict.fromkeys(code for move in there for code in move["stages"])
        lines.append(
            Compared(
                listed([there[0]["house"], *(stage_name(code) for code in stages)]),
                span_words(there[0]["from"]),
                tuple(_goes(move) for move in moves),
            )
        )
    return lines


def _moved(change: Codes) -> Mapping[str, str]:
    return {
        "n": figure(change["figures"]["visits_moved"]),
        "soon": figure(change["soon"]["visits_moved"]),
    }


def _figures(changes: Sequence[Codes], name: str) -> list[str]:
    return [figure(change["figures"][name]) for change in changes]


def _missed(handovers: Sequence[Codes]) -> int:
    return sum(bool(row["late_after"] or is_left_out(row)) for row in handovers)


def _were_missed(handovers: Sequence[Codes]) -> int:
    return sum(bool(row["late_before"] or _was_left_out(row)) for row in handovers)


def _was_left_out(row: Codes) -> bool:
    """Return whether a promise was on hold: one that was not made yet has no lateness either."""
    was_there = row["late_before"] is not None and row["state"] != "done"
    return was_there and row["before"] is None


def _days_late(change: Codes, when: str) -> str:
    minutes = sum(row[f"late_{when}"] or 0 for row in change["handovers"])
    return figure(minutes / MINUTES_A_DAY)


def _hours(minutes: int | None) -> str:
    return "" if minutes is None else figure(minutes / 60)


def _worth_telling(row: Codes) -> bool:
    late = row["late_before"] or row["late_after"]
    return bool(late or row["before"] != row["after"] or is_left_out(row))


def _after_words(row: Codes | None, zone: ZoneInfo) -> str:
    if row is None:
        return gettext("not planned")
    if row["state"] == "done":
        return gettext("all done")
    return met_words(row["after"], row["late_after"], zone)


def _visit_key(move: Codes) -> tuple[str, str, str]:
    return move["house"], move["from"]["crew"], move["from"]["starts_at"]


def _goes(move: Codes | None) -> str:
    if move is None:
        return gettext("stays")
    return "; ".join(map(span_words, move["to"])) or gettext("not planned")
