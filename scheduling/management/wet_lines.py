"""The visits that the newest air no longer fits, as commands print them."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from datetime import datetime
from zoneinfo import ZoneInfo

from finishing.models import Company
from scheduling.air_wording import unfit_sentence, wet_sentence
from scheduling.services.unfit_air import UnfitAir
from scheduling.services.wet_visits import WetCoat, WetVisit, wet_visits
from scheduling.wording import moment


def wet_lines(company: Company, now: datetime) -> Iterator[str]:
    """Yield a heading, a line for each visit and under it one for each wet coat; then the same
    for coats that go into air too cold or too hot for them."""
    found = wet_visits(company=company, now=now)
    wet = [visit for visit in found if visit.coats]
    if not wet:
        yield "every published visit finds its coats dry, as the air is known now"
    else:
        yield "these visits arrive before the coat is dry:"
        for visit in wet:
            yield _heading(visit)
            yield from _indented(wet_sentence, visit.coats, visit)
    if unfit := [visit for visit in found if visit.unfit]:
        yield "these visits put a coat into air that is too cold or too hot for it:"
        for visit in unfit:
            yield _heading(visit)
            yield from _indented(unfit_sentence, visit.unfit, visit)
    if found:
        yield "manage.py replan proposes other times"


def _heading(found: WetVisit) -> str:
    at = moment(found.visit.starts_at, ZoneInfo(found.visit.crew.zone))
    return f"{found.visit.house}, {at}, {found.visit.crew}"


def _indented(
    sentence: Callable[..., str], coats: Iterable[WetCoat | UnfitAir], found: WetVisit
) -> Iterator[str]:
    zone = ZoneInfo(found.visit.crew.zone)
    for coat in coats:
        yield "  " + sentence(**asdict(coat), zone=zone)
