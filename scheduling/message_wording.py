"""Messages to copy into a text message: a crew's next day, and a house's coats for its builder."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import groupby
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext

from scheduling.keep_off_wording import keep_off_lines
from scheduling.models import Visit
from scheduling.wording import Codes, day, handover_sentence, listed, stage_name


def crew_message(crew: str, on: date, visits: Iterable[Visit], zone: ZoneInfo, page: str) -> str:
    """Return a crew's day in a few lines, with the address of its page."""
    lines = [_visit_line(visit, zone) for visit in visits]
    head = gettext("%(crew)s, %(day)s:") % {"crew": crew, "day": day(on)}
    nothing = gettext("no visit is planned.")
    return "\n".join([head, *(lines or [nothing]), gettext("All of it: %(page)s") % {"page": page}])


def builder_message(
    house: str, visits: Sequence[Visit], handovers: Iterable[Codes], now: datetime, zone: ZoneInfo
) -> str:
    """Return what a builder has to know of a house: who comes when, what must not be touched
    before when, and when it is handed over. visits: all that are published."""
    lines = [gettext("%(house)s:") % {"house": house}]
    to_come = [visit for visit in visits if visit.ends_at > now]
    for on, of_day in groupby(to_come, key=lambda visit: visit.starts_at.astimezone(zone).date()):
        tasks = [task for visit in of_day for task in visit.content["tasks"]]
        lines.append(f"{day(on)}: {_stages(tasks)}")
    tasks = [task for visit in visits for task in visit.content["tasks"]]
    if keep_off := keep_off_lines(tasks, now, zone):
        lines += [gettext("Do not touch the coats, and keep heat and air as they are:"), *keep_off]
    lines += [handover_sentence({**row, "house": gettext("Handover")}, zone) for row in handovers]
    return "\n".join(lines)


def _visit_line(visit: Visit, zone: ZoneInfo) -> str:
    house = visit.content["house"]
    start, end = (
        date_format(moment.astimezone(zone), "H:i") for moment in (visit.starts_at, visit.ends_at)
    )
    where = listed([house["name"], house["address"]])
    return f"{start}\N{EN DASH}{end} {where}: {_stages(visit.content['tasks'])}"


def _stages(tasks: Sequence[Codes]) -> str:
    """Say what is done where: each stage or job once, with its areas."""
    areas: dict[str, list[str]] = {}
    for task in tasks:
        name = task["job"] or stage_name(task["stage"])
        areas.setdefault(name, []).append(task["area"])
    return "; ".join(
        f"{name} ({places})" if (places := listed(rows)) else name for name, rows in areas.items()
    )
