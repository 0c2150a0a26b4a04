"""What crews have said of a house that the office has yet to settle, as the office reads it."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.crew_said import obstacle_text
from finishing.models import Company, House
from scheduling.models import ExtraWork, Obstacle
from scheduling.queries.for_the_office import open_extra_work, open_obstacles
from scheduling.wording import figure, moment


@dataclass(frozen=True)
class CrewWord:
    """One thing said. kind: as in ``queries.for_the_office``."""

    kind: str
    row: Obstacle | ExtraWork
    text: str
    said: str
    has_photo: bool = False


def crew_words(company: Company, house: House | None = None) -> list[CrewWord]:
    """Return what is open, of a house or of all, in two queries."""
    return [
        *(_obstacle(row) for row in open_obstacles(company, house)),
        *(_extra_work(row) for row in open_extra_work(company, house)),
    ]


def obstacle_words(row: Obstacle) -> str:
    """Say what kept a crew from its work."""
    why = obstacle_text({"reason": row.reason, "item": row.item, "note": row.note})
    return _("Cannot work: %(why)s") % {"why": why}


def extra_work_text(row: ExtraWork) -> str:
    """Say what a crew did that was in no plan."""
    values = {"what": row.what, "hours": figure(row.person_minutes / 60)}
    return _("Extra work: %(what)s, %(hours)s person-hours") % values


def _obstacle(row: Obstacle) -> CrewWord:
    return CrewWord("obstacle", row, obstacle_words(row), _said(row), bool(row.photo))


def _extra_work(row: ExtraWork) -> CrewWord:
    return CrewWord("extra_work", row, extra_work_text(row), _said(row))


def _said(row: Obstacle | ExtraWork) -> str:
    return f"{row.crew.name}, {moment(row.at, ZoneInfo(row.crew.zone))}"
