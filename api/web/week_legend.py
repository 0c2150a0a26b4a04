"""What the shapes of a drawn plan mean: each as a small drawing with words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.clock_changes import ClockChange
from api.web.day_columns import DayColumns
from api.web.plan_drawing import PlanDrawing
from finishing.rules.cold import LEAST_C
from scheduling.wording import figure

_WIDTH, _HEIGHT = 64.0, 24.0
_MIDDLE = _HEIGHT / 2
_FIRST = datetime(2000, 1, 3, tzinfo=UTC)
_DAY = (date(2000, 1, 3),)
_HOUR = timedelta(hours=1)

type Draw = Callable[[PlanDrawing], None]


@dataclass(frozen=True)
class Sample:
    """A shape as markup, and what it means."""

    chart: str
    said: str


def week_legend() -> list[Sample]:
    """Return what stands in the picture of crews."""
    return _samples(
        [
            (_("a visit, in the weave of its house"), _work),
            (_("not published yet"), _held),
            (_("pinned to its crew and time"), _pinned),
            (_("another crew at the house"), _others),
            (_("the crew's way from visit to visit"), _thread),
            (_("a day without work for the crew"), _off),
        ]
    )


def houses_legend() -> list[Sample]:
    """Return what stands in the picture of houses."""
    return _samples(
        [
            (_("a coat, with the letter of its crew over it"), _work),
            (_("sanding"), _sanding),
            (_("pinned to its crew and time"), _pinned),
            (_("inspection or other work"), _others),
            (_("a handover is due"), _due),
            (_("planned to be met in time"), lambda on: on.met(32, _MIDDLE, "", late=False)),
            (_("planned to be met late"), _late),
            (_("others have an area"), lambda on: on.bands([(3, 61)], 4, 20, "closed")),
            (_("a day on which no crew works"), _off),
        ]
    )


def _samples(shapes: Sequence[tuple[str, Draw]]) -> list[Sample]:
    """Return shapes with those that stand in both pictures."""
    both: Sequence[tuple[str, Draw]] = [
        (_("drying; thinner once the first rooms are dry"), _drying),
        (_("first dry hour"), _dry),
        (
            _("the house is below %(least)s °C, as planned") % {"least": figure(LEAST_C)},
            lambda on: on.cold([(_at(2), _at(22))], 10),
        ),
        (_("now"), _now),
        (_("clocks go forward: an hour is missing"), lambda on: _clocks(on, 1)),
        (_("clocks go back: an hour comes twice"), lambda on: _clocks(on, -1)),
    ]
    return [
        Sample(_drawn(f"sample-{number}", draw), said)
        for number, (said, draw) in enumerate([*shapes, *both])
    ]


def _drawn(name: str, draw: Draw) -> str:
    columns = DayColumns(_DAY, ZoneInfo("UTC"), left=0.0, right=_WIDTH, idle=_DAY)
    drawing = PlanDrawing(name, title="", description="", width=_WIDTH, height=_HEIGHT)
    drawing.over(columns).root.set("aria-hidden", "true")
    draw(drawing)
    return drawing.markup()


def _at(hour: float) -> datetime:
    return _FIRST + hour * _HOUR


def _work(drawing: PlanDrawing) -> None:
    drawing.work((_at(3), _at(21)), 3, 21, "weave-1", held=False)


def _held(drawing: PlanDrawing) -> None:
    drawing.work((_at(3), _at(21)), 3, 21, "weave-1", held=True)


def _pinned(drawing: PlanDrawing) -> None:
    drawing.work((_at(3), _at(21)), 5, 21, "weave-1")
    drawing.pin(_at(4), 6)


def _sanding(drawing: PlanDrawing) -> None:
    drawing.work((_at(3), _at(21)), 3, 21, "sanding")


def _due(drawing: PlanDrawing) -> None:
    drawing.flag(34, 1, 23, "")


def _late(drawing: PlanDrawing) -> None:
    drawing.line([(6, _MIDDLE), (48, _MIDDLE)], "late")
    drawing.met(48, _MIDDLE, "", late=True)


def _others(drawing: PlanDrawing) -> None:
    drawing.others((_at(3), _at(21)), 7, 17)


def _drying(drawing: PlanDrawing) -> None:
    drawing.drying(_at(2), _at(12), _at(22), _MIDDLE)


def _dry(drawing: PlanDrawing) -> None:
    drawing.first_dry(_at(12), _MIDDLE)


def _thread(drawing: PlanDrawing) -> None:
    drawing.thread([((_at(0), _at(4)), 6.0), ((_at(20), _at(24)), 18.0)])


def _off(drawing: PlanDrawing) -> None:
    drawing.day_bands([0], 2, 22, "off")


def _now(drawing: PlanDrawing) -> None:
    drawing.now(_at(12), 2, 22)


def _clocks(drawing: PlanDrawing, hours: int) -> None:
    at = _at(12)
    drawing.clock_change(ClockChange(at, at.time(), at.time(), 4 * hours * _HOUR), 0, 24)
