"""The page of a house's air: charts of its climate and of its coats, with tables beside them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.air_periods import AIR_WORDS, period_of
from api.web.charts import pattern_markup
from api.web.coat_charts import key_chart
from api.web.found_wet import FoundWet, found_wet_part
from api.web.house_days import DayFigures, FigureChart, day_figures, figure_charts
from api.web.room_coats import RoomChart, StageFigures, moments_of, room_chart, stage_figures
from api.web.time_charts import Words
from api.web.visits import house_tint
from api.web.water import WaterPart, water_part
from finishing.models import Company, House
from scheduling.cautions_wording import heater_cautions
from scheduling.jobs import answer_for_page
from scheduling.services.house_curves import HouseCurves, RoomDrying
from scheduling.services.house_drying import HouseDrying, house_drying

BEFORE, AFTER = timedelta(days=2), timedelta(days=5)
"""Around now, what the charts of the air show at least."""


@dataclass(frozen=True)
class AreaCharts:
    """An area with the charts of its rooms, and their coats by stage in figures."""

    name: str
    rooms: list[RoomChart]
    stages: list[StageFigures]


@dataclass(frozen=True)
class Curves:
    """All that the page shows of a house whose air is known. Charts are markup."""

    patterns: str
    key: str
    figures: list[FigureChart]
    days: list[DayFigures]
    has_dryers: bool
    cautions: list[str]
    areas: list[AreaCharts]


@dataclass(frozen=True)
class AirPage:
    """A house with what was found wet in it, the water still to come, and its curves: None where
    no air is known for it."""

    house: House
    tint: int
    found_wet: FoundWet | None
    water: WaterPart | None
    curves: Curves | None


def house_air_page(company: Company, public_id: UUID, *, now: datetime) -> AirPage:
    """Return a house's air page. Raise ``House.DoesNotExist`` where the company has none such,
    NotYetError while somebody works it out."""
    house = House.objects.select_related("company").get(company=company, public_id=public_id)
    found = answer_for_page(house_drying, company=company, now=now, of=(house.pk,))
    return air_page(house, found, now=now)


def air_page(house: House, found: HouseDrying, *, now: datetime) -> AirPage:
    """Return a house's air page of what is found of it."""
    curves = _curves(found.curves, ZoneInfo(house.zone), now) if found.curves else None
    wet = found_wet_part(house, found.looks) if found.looks else None
    return AirPage(house, house_tint(house), wet, water_part(found.water), curves)


def _curves(found: HouseCurves, zone: ZoneInfo, now: datetime) -> Curves:
    shown = [now - BEFORE, now + AFTER, *moments_of(found.rooms)]
    period = period_of(found.air, shown, now=now, zone=zone)
    return Curves(
        patterns=pattern_markup(),
        key=_key(),
        figures=figure_charts(found.air, period, found.dryers),
        days=day_figures(found.air, period, found.dryers),
        has_dryers=bool(found.dryers),
        cautions=heater_cautions(stay.flame for stay in found.dryers),
        areas=[
            _area(list(rooms), found, zone, now)
            for _pk, rooms in groupby(found.rooms, key=lambda room: room.area_id)
        ],
    )


def _area(rooms: list[RoomDrying], found: HouseCurves, zone: ZoneInfo, now: datetime) -> AreaCharts:
    """Return an area whose rooms share their time axis, so that they can be compared."""
    period = period_of(found.air, moments_of(rooms), now=now, zone=zone)
    charts = [room_chart(room, period) for room in rooms]
    return AreaCharts(rooms[0].area, charts, stage_figures(rooms, zone))


def _key() -> str:
    words = Words("key", _("Key to the charts"), _("Marks and lines, and what air rests on."))
    lines = {
        "past": _("so far"),
        "to-come": _("expected"),
        "diamond": _("practice minimum"),
        "dot": _("ready"),
        "arrow": _("next work starts"),
        "now": _("now"),
    }
    air = {kind: _("air: %(known)s") % {"known": said} for kind, said in AIR_WORDS.items()}
    return key_chart(words, lines, air)
