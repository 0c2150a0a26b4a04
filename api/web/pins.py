"""The page of pins: what is pinned where, by whom, and what the last run had to set aside."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from finishing.models import Company
from finishing.queries.companies import can_plan
from scheduling.change_wording import freed_sentence
from scheduling.models import PlanRun
from scheduling.move_wording import maker_name
from scheduling.queries.plans import tasks_planned, working_plan
from scheduling.queries.runs import unfinished_run
from scheduling.services.named_pins import NamedPin, named_pins
from scheduling.wording import listed, moment


@dataclass(frozen=True)
class PinLine:
    """Pins that were made together. aside: why the last run had to set them aside, "" where it
    has not. visit_id: a task of the working plan by which its visit is found, None where that
    plan has no such work.
    """

    public_id: UUID
    house: str
    work: list[str]
    spot: str
    who: str
    made: str
    aside: str
    visit_id: UUID | None


@dataclass(frozen=True)
class PinsPage:
    """All that the page shows."""

    pins: list[PinLine]
    run: PlanRun | None
    can_plan: bool


def pins_page(company: Company, *, now: datetime) -> PinsPage:
    """Return the page, in a fixed number of queries."""
    pins = sorted(named_pins(company=company, now=now), key=_together)
    plan = working_plan(company)
    keys = [named.pin.key for named in pins]
    tasks = {task.key: task.public_id for task in tasks_planned(plan, keys)} if plan else {}
    groups = [list(made) for _key, made in groupby(pins, key=_together)]
    groups.sort(key=lambda group: group[0].pin.starts_at)
    return PinsPage(
        pins=[_line(group, tasks) for group in groups],
        run=unfinished_run(company),
        can_plan=can_plan(company),
    )


def _together(named: NamedPin) -> tuple[datetime, int, str]:
    """Return what pins that were made together have in common."""
    return named.pin.made_at, named.pin.crew_id, named.house


def _line(group: Sequence[NamedPin], tasks: Mapping[str, UUID]) -> PinLine:
    first = group[0].pin
    zone = ZoneInfo(first.crew.zone)
    aside = next((named.aside for named in group if named.aside), None)
    return PinLine(
        public_id=first.public_id,
        house=group[0].house or _("a house that is no more"),
        work=[named.work or _("work that is no more to do") for named in group],
        spot=listed([first.crew.name, moment(first.starts_at, zone)]),
        who=maker_name(first),
        made=moment(first.made_at, zone),
        aside=freed_sentence(aside) if aside else "",
        visit_id=next((tasks[n.pin.key] for n in group if n.pin.key in tasks), None),
    )
