"""The page of a quote: what was found out of it, and how far the run is that works it out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.run_standing import Progress, progress_of
from finishing.models import Quote
from finishing.rules.costs import PARTS
from scheduling.cost_wording import Unpriced, known_amount, part_amounts, part_names, unpriced_of
from scheduling.models import PlanRun
from scheduling.queries.runs import quote_runs
from scheduling.run_wording import what_next_sentence
from scheduling.services.quotes import (
    cost_found,
    is_from_takeoff,
    is_of_some_work,
    price_found,
)
from scheduling.wording import day, figure, hold_sentence, moment

NOT_TAKEN_OFF = frozenset(PARTS) - {"labour", "material"}
"""What only a place in the plan tells of a cost."""


@dataclass(frozen=True)
class QuoteRun:
    """How a quote's newest run stands, in words. what_next: after one that failed. stopping: it was
    asked to stop; is_cut_short: and has ended with what it had found."""

    progress: Progress
    what_next: str
    stopping: bool
    is_cut_short: bool


@dataclass(frozen=True)
class QuotePage:
    """A quote in words; run: that works it out, if one was ever asked for and it is not won; found:
    whether anything has been found out yet; heating: "" where it is not heated; from_takeoff: its
    figures know no place in the plan; of_some_work: nor are they of all of it; heat_may_help: its
    work is too cold, and it is not heated; handover: a day, or why there is none."""

    quote: Quote
    run: QuoteRun | None
    heating: str
    found: bool
    found_at: str = ""
    from_takeoff: bool = False
    of_some_work: bool = False
    heat_may_help: bool = False
    hours: str = ""
    kg: str = ""
    powder_kg: str = ""
    tape_m: str = ""
    costs: tuple[tuple[str, str], ...] = ()
    price: str = ""
    unpriced: Unpriced | None = None
    handover: str = ""
    has_handover: bool = False
    odds: str = ""
    holds_on: str = ""
    holds: tuple[str, ...] = ()


def quote_page(row: Quote, *, now: datetime) -> QuotePage:
    """Return the page of a quote as things stand."""
    found, company = row.found, row.company
    run = None if row.won_id else _newest_run(row, now)
    if not found or row.found_at is None:
        return QuotePage(row, run, _heating(row), found=False)
    in_time, holds_on = found["in_time"], found["holds_on"]
    powder = found["material"].get("powder_kg", 0)  # not kept with what was found out before
    return QuotePage(
        row,
        run,
        _heating(row),
        found=True,
        found_at=moment(row.found_at, ZoneInfo(company.zone)),
        from_takeoff=is_from_takeoff(row),
        of_some_work=is_of_some_work(row),
        heat_may_help=row.setpoint_c is None and "too_cold" in (h["code"] for h in found["holds"]),
        hours=figure(found["person_minutes"] / 60),
        kg=figure(found["material"]["kg"]),
        powder_kg=figure(powder) if powder else "",
        tape_m=figure(found["material"]["tape_m"]),
        costs=tuple(_cost_lines(row)),
        price=price_said(row),
        unpriced=unpriced_of(found["unpriced"]),
        handover=_handover(row),
        has_handover=bool(found["handover_on"]),
        odds=f"{in_time:.0%}" if in_time is not None else "",
        holds_on=day(date.fromisoformat(holds_on)) if holds_on else "",
        holds=tuple(hold_sentence(hold) for hold in found["holds"]),
    )


def _cost_lines(row: Quote) -> Iterable[tuple[str, str]]:
    cost, company = cost_found(row), row.company
    if not is_from_takeoff(row):
        return zip(part_names(), part_amounts(cost, company), strict=True)
    names = [_("Hours of work"), *part_names()[1:]]
    return zip(names, part_amounts(cost, company, left_out=NOT_TAKEN_OFF), strict=True)


def price_said(row: Quote) -> str:
    """Return the price of a quote that was worked out; a dash where nothing of it is known."""
    price = price_found(row)
    whole = not (row.found["unpriced"] or is_from_takeoff(row))
    return known_amount(price or 0, row.company, known=price is not None and whole)


def _handover(row: Quote) -> str:
    if row.found["handover_on"]:
        return day(row.found["handover_on"])
    if is_from_takeoff(row) or is_of_some_work(row):
        return _("not yet: not all of its work finds a place")
    return _("none: there is no work in it")


def _heating(row: Quote) -> str:
    if row.setpoint_c is None:
        return ""
    held = {"setpoint_c": figure(row.setpoint_c)}
    if row.heated_from is None:
        return _("Held at %(setpoint_c)s °C from before its first day.") % held
    return _("Held at %(setpoint_c)s °C from %(day)s.") % {**held, "day": day(row.heated_from)}


def _newest_run(row: Quote, now: datetime) -> QuoteRun | None:
    run = quote_runs([row]).get(row.pk)
    progress = progress_of(run, now)
    if run is None or progress is None:
        return None
    return QuoteRun(
        progress=progress,
        what_next=what_next_sentence(run.error) if progress.failure else "",
        stopping=run.stop_requested,
        is_cut_short=run.stop_requested and run.status == PlanRun.Status.DONE,
    )
