"""/api/v1/placing-rates/: how fast compound goes on, where the company has a figure of its own."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from api.rest.fields import Choice, Day, Number, Text
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, PlacingRate
from finishing.models.rate import PLACING_LIMITS
from finishing.rules.placing import PLACED
from finishing.services.errors import Fault
from finishing.services.placing import PlacingLine, edit_placing, own_placing, placing_faults

STAGES = [stage.value for stage in PLACED]


class PlacingRateSerializer(RowSerializer[PlacingRate]):
    stage = Choice(STAGES, help_text="stays")
    litres_per_hour = Number(
        min_value=PLACING_LIMITS[0],
        max_value=PLACING_LIMITS[1],
        help_text="mixed litres that one person puts on in an hour",
    )
    where_from = Text(max_length=200, help_text="where the figure comes from")
    dated = Day(help_text="since when it holds")

    spelt = {"where_from": "source"}
    fixed = ("stage",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if not self.instance and values.get("stage") in own_placing(self.context["company"]):
            yield Fault("stage", "The company has a rate for this already: change that one.")
        said = self.together(values, self.instance)
        for fault in placing_faults([_line(said.get("stage", ""), said)]):
            name = fault.place.removeprefix("rate-")
            if name in said:  # what is missing says so itself
                yield replace(fault, place=name)


def _line(stage: str, values: Mapping[str, Any], version: int = 0) -> PlacingLine:
    names = ("litres_per_hour", "source", "dated")
    said = {name: values[name] for name in names if name in values}
    return PlacingLine("rate", stage, version=version, **said)


class PlacingRateListing(Listing):
    stage = Choice(STAGES, required=False)


class PlacingRates(Editable[PlacingRate]):
    """The company's own placing rates; one that is removed is the usual one again."""

    model = PlacingRate
    lookup_value_converter = "placing_rate"
    serializer_class = PlacingRateSerializer
    query = PlacingRateListing
    logs = (Change.What.PLACING,)

    def make(self, values: Mapping[str, Any]) -> PlacingRate:
        company = self.company(self.request)
        edit_placing(company=company, lines=[_line(values["stage"], values)])
        return own_placing(company)[values["stage"]]

    def edit(self, row: PlacingRate, values: Mapping[str, Any]) -> None:
        stored = {
            "litres_per_hour": row.litres_per_hour,
            "source": row.source,
            "dated": row.dated,
        }
        self._put(_line(row.stage, {**stored, **values}, row.version))

    def remove(self, row: PlacingRate) -> None:
        self._put(PlacingLine("rate", row.stage, version=row.version))

    def _put(self, line: PlacingLine) -> None:
        edit_placing(company=self.company(self.request), lines=[line])
