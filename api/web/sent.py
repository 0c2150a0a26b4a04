"""What was sent out, what waits, what failed: lines for the office."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from finishing.models import Company
from scheduling.models import Outgoing
from scheduling.outgoing_wording import outgoing_name, state_sentence
from scheduling.wording import moment

LINES_SHOWN = 40


@dataclass(frozen=True)
class SentLine:
    """A thing to be sent. may_go_again: it was sent or given up."""

    row: Outgoing
    what: str
    written: str
    state: str
    is_late: bool
    may_go_again: bool


def sent_lines(company: Company, rows: QuerySet[Outgoing]) -> list[SentLine]:
    """Return the newest of a company's rows, what is not sent first."""
    rows = (
        rows.filter(company=company)
        .select_related("publication", "crew")
        .order_by("-created_at", "-pk")
    )
    zone = ZoneInfo(company.zone)
    lines = [_line(row, zone) for row in rows[:LINES_SHOWN]]
    return sorted(lines, key=lambda line: not line.is_late)


def _line(row: Outgoing, zone: ZoneInfo) -> SentLine:
    waiting = row.state == Outgoing.State.WAITING
    return SentLine(
        row=row,
        what=outgoing_name(row),
        written=moment(row.created_at, zone),
        state=state_sentence(row, zone),
        is_late=row.state == Outgoing.State.GIVEN_UP or (waiting and bool(row.error)),
        may_go_again=row.state in {Outgoing.State.SENT, Outgoing.State.GIVEN_UP},
    )
