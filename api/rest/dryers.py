"""/api/v1/dryers/: dehumidifiers and heaters that the company has."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Number, OwnRelated, Percent, Text, Whole, YesNo
from api.rest.query import Flag, Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Dryer, House
from finishing.rules.cold import LEAST_HOLD_C, TEMPORARY_HEAT_C
from finishing.rules.vocabulary import DryerKind
from finishing.services.dryers import add_dryer, dryer_faults, edit_dryer, remove_dryer
from finishing.services.errors import Fault

MOST = 32_767
"""As much as the column of a count holds in every database."""
MOST_COST = 10_000_000
MOST_RATING = 10_000


def _figure(least: float, most: float, said: str = "", **options: Any) -> Number:
    return Number(min_value=least, max_value=most, required=False, help_text=said, **options)


def _humidity(source: str, said: str) -> Percent:
    return Percent(source=source, min_value=0, max_value=100, required=False, help_text=said)


class DryerSerializer(RowSerializer[Dryer]):
    name = Text(max_length=120)
    kind = Choice([kind.value for kind in DryerKind])
    count = Whole(min_value=1, max_value=MOST, required=False)
    litres_per_day = _figure(0, MOST_RATING, "that one takes out of air as rated")
    rated_c = _figure(-20, 60)
    rated_humidity_percent = _humidity("rated_humidity", "with rated_c")
    hold_humidity_percent = _humidity("hold_humidity", "it runs above")
    least_c = _figure(-30, 40, "it stops below")
    tank_l = _figure(0, MOST_RATING, "null: it drains", allow_null=True)
    heat_kw = _figure(0, MOST_RATING, "the most that one gives")
    hold_c = _figure(LEAST_HOLD_C, TEMPORARY_HEAT_C, "up to which it heats")
    flame = YesNo(required=False, help_text="burns something in the house: needs fresh air")
    cost_per_day_minor = Whole(
        source="cost_per_day",
        min_value=0,
        max_value=MOST_COST,
        required=False,
        help_text="in minor units of money, such as cents; absent for who may not plan",
    )
    move_minutes = Whole(
        min_value=0, max_value=MOST, required=False, help_text="to set one down, and to collect it"
    )
    place = Text(max_length=120, required=False, allow_blank=True, help_text="where it is kept")
    house = OwnRelated(House, required=False, allow_null=True, help_text="where it stands already")
    is_active = YesNo(required=False, help_text="may be planned with")

    for_planners = ("cost_per_day_minor",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        yield from dryer_faults(self.context["company"], self.instance, said)


class DryerListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")
    kind = Choice([kind.value for kind in DryerKind], required=False)
    is_active = Flag(required=False)
    house = serializers.UUIDField(required=False, source="house__public_id")


class Dryers(Editable[Dryer]):
    """Dehumidifiers and heaters, a row for the units of one kind."""

    model = Dryer
    lookup_value_converter = "dryer"
    serializer_class = DryerSerializer
    query = DryerListing
    related = ("house",)
    logs = (Change.What.DRYER,)

    def make(self, values: Mapping[str, Any]) -> Dryer:
        return add_dryer(company=self.company(self.request), values=values)

    def edit(self, row: Dryer, values: Mapping[str, Any]) -> None:
        edit_dryer(dryer=row, version=row.version, values=values)

    def remove(self, row: Dryer) -> None:
        remove_dryer(dryer=row, version=row.version)
