"""What crews have said of a house that the office has yet to settle, as the office reads it."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from finishing.models import Company, House
from scheduling.crew_word_wording import extra_work_text, obstacle_text
from scheduling.models import ExtraWork, Obstacle
from scheduling.queries.for_the_office import open_extra_work, open_obstacles
from scheduling.wording import moment


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


def _obstacle(row: Obstacle) -> CrewWord:
    return CrewWord("obstacle", row, obstacle_text(row), _said(row), bool(row.photo))


def _extra_work(row: ExtraWork) -> CrewWord:
    return CrewWord("extra_work", row, extra_work_text(row), _said(row))


def _said(row: Obstacle | ExtraWork) -> str:
    return f"{row.crew.name}, {moment(row.at, ZoneInfo(row.crew.zone))}"
