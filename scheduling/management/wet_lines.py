"""The list of visits that arrive before the coat is dry, as commands print it."""

from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Company
from scheduling.air_wording import wet_sentence
from scheduling.services.wet_visits import WetVisit, wet_visits
from scheduling.wording import moment


def wet_lines(company: Company, now: datetime) -> Iterator[str]:
    """Yield a heading, a line for each visit and under it one for each wet coat."""
    found = wet_visits(company=company, now=now)
    if not found:
        yield "every published visit finds its coats dry, as the air is known now"
        return
    yield "these visits arrive before the coat is dry:"
    for wet in found:
        yield from _lines(wet)
    yield "manage.py replan proposes other times"


def _lines(wet: WetVisit) -> Iterator[str]:
    zone = ZoneInfo(wet.visit.crew.zone)
    yield f"{wet.visit.house}, {moment(wet.visit.starts_at, zone)}, {wet.visit.crew}"
    for coat in wet.coats:
        yield "  " + wet_sentence(**asdict(coat), zone=zone)
