"""/api/v1/builder-lines/: extra work as a house's builder is told of it."""

from collections.abc import Iterator, Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import Day, OwnRelated, Text, Whole
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import BuilderLine, Change, House
from finishing.models.builder_line import MOST_MINUTES
from finishing.models.price import MOST_AMOUNT
from finishing.queries.rights import Right
from finishing.services.builder_lines import (
    FIELDS,
    add_builder_line,
    builder_line_faults,
    change_builder_line,
    remove_builder_lines,
)
from finishing.services.errors import Fault
from scheduling.models import ExtraWork
from scheduling.services.for_the_office import bill_extra_work

DEFAULTS: Mapping[str, Any] = {"agreed_on": None, "agreed_with": ""}


class BuilderLineSerializer(RowSerializer[BuilderLine]):
    house = OwnRelated(House, help_text="stays")
    extra_work = OwnRelated(
        ExtraWork,
        required=False,
        write_only=True,
        help_text="of the house, noted by a crew: that is settled by this",
    )
    day = Day()
    text = Text(max_length=300)
    person_minutes = Whole(min_value=1, max_value=MOST_MINUTES)
    rate_minor = Whole(
        source="rate", min_value=0, max_value=MOST_AMOUNT, help_text="a person-hour, such as cents"
    )
    amount_minor = serializers.SerializerMethodField(help_text="rounded once, for the line")
    agreed_on = Day(required=False, allow_null=True, help_text="null: not agreed yet")
    agreed_with = Text(required=False, allow_blank=True, max_length=120)

    fixed = ("house",)

    @extend_schema_field(serializers.IntegerField())
    def get_amount_minor(self, row: BuilderLine) -> int:
        return row.amount

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = {**DEFAULTS, **self.together(values, self.instance)}
        house = self.instance.house if self.instance else said.get("house")
        noted = values.get("extra_work")
        if noted and (self.instance or noted.house_id != getattr(house, "pk", None)):
            yield Fault("extra_work", "Is another house's, or the line is made already.")
        elif noted and noted.builder_line_id:
            yield Fault("extra_work", "Is a line already.")
        if house is not None and said.keys() >= {*FIELDS}:
            yield from builder_line_faults(house, {name: said[name] for name in FIELDS})


class BuilderLineListing(Listing):
    house = serializers.UUIDField(required=False, source="house__public_id")


class BuilderLines(Editable[BuilderLine]):
    """Lines for builders: hours, rate, and whether they have agreed."""

    needs = Right.PLAN
    model = BuilderLine
    lookup_value_converter = "builder_line"
    serializer_class = BuilderLineSerializer
    query = BuilderLineListing
    related = ("house__company",)
    logs = (Change.What.BUILDER_LINE,)

    def make(self, values: Mapping[str, Any]) -> BuilderLine:
        said = {**DEFAULTS, **values}
        house, noted = said.pop("house"), said.pop("extra_work", None)
        if noted is None:
            return add_builder_line(house=house, values=said)
        return bill_extra_work(noted, said, user=self.who(), now=self.now())

    def edit(self, row: BuilderLine, values: Mapping[str, Any]) -> None:
        change_builder_line(row=row, version=row.version, values=values)

    def remove(self, row: BuilderLine) -> None:
        remove_builder_lines([(row, row.version)])
