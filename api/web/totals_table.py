"""What work comes to, as a table: a line a measure, a column a room, area or house."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from finishing.rules.room_shapes import LINEAR_JOINTS
from finishing.rules.vocabulary import Stage
from scheduling.services.work_totals import StageTotal, WorkTotals
from scheduling.wording import figure, joint_name, quantity, stage_name

type Column = tuple[str, WorkTotals]


@dataclass(frozen=True)
class TotalsLine:
    """A measure with what it is in each column, the column's heading with it."""

    name: str
    cells: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class TotalsTable:
    """All lines, and the headings of the columns."""

    headings: Sequence[str]
    lines: Sequence[TotalsLine]


def totals_table(columns: Sequence[Column]) -> TotalsTable:
    """Return the table of some totals, from the smallest to the largest."""
    return TotalsTable([heading for heading, _totals in columns], list(_lines(columns)))


def totals_sentence(totals: WorkTotals) -> str:
    """Return a room's totals in a few words, for its row."""
    metres = sum(totals.metres.values())
    if not (metres or totals.area_m2):
        return _("nothing taken off yet")
    whole = totals.all_stages
    return _("%(area)s, %(metres)s, %(litres)s L, %(hours)s h") % {
        "area": quantity(totals.area_m2, "m2"),
        "metres": quantity(metres, "m"),
        "litres": figure(whole.litres),
        "hours": hours(whole.person_minutes),
    }


def hours(person_minutes: float) -> str:
    """Return person-hours to the tenth."""
    return figure(person_minutes / 60)


def _lines(columns: Sequence[Column]) -> Iterator[TotalsLine]:
    for kind in LINEAR_JOINTS:
        yield TotalsLine(
            joint_name(kind), [(name, quantity(t.metres[kind], "m")) for name, t in columns]
        )
    if any(totals.cornice_m for _heading, totals in columns):
        yield _line(joint_name("cornice"), columns, lambda t: quantity(t.cornice_m, "m"))
    yield _line(joint_name("fasteners"), columns, lambda t: str(t.fasteners))
    yield _line(_("board"), columns, lambda t: quantity(t.area_m2, "m2"))
    for stage in _stages(totals for _heading, totals in columns):
        none = StageTotal()
        yield TotalsLine(
            stage_name(stage), [(name, _work(t.stages.get(stage, none))) for name, t in columns]
        )
    yield _line(_("all coats and work"), columns, lambda t: _work(t.all_stages))


def _line(name: str, columns: Sequence[Column], said: Callable[[WorkTotals], str]) -> TotalsLine:
    return TotalsLine(name, [(heading, said(totals)) for heading, totals in columns])


def _stages(totals: Iterable[WorkTotals]) -> list[Stage]:
    there = {stage for one in totals for stage in one.stages}
    return [stage for stage in Stage if stage in there]


def _work(total: StageTotal) -> str:
    """Return "3.2 L (5.3 kg), 1.2 h"; hours alone where a stage takes no compound."""
    taken = _("%(hours)s h") % {"hours": hours(total.person_minutes)}
    if not total.litres:
        return taken
    compound = _("%(litres)s L (%(kg)s kg)") % {
        "litres": figure(total.litres),
        "kg": figure(total.kg),
    }
    return f"{compound}, {taken}"
