"""/api/v1/prices/: what hours, ways and late days cost. Only who plans may see them."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Day, OwnRelated, Whole
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Crew, House, Price
from finishing.models.price import MOST_AMOUNT
from finishing.queries.rights import Right
from finishing.rules.prices import PriceKind
from finishing.services.errors import Fault
from finishing.services.prices import FIELDS, PriceLine, edit_prices, price_faults


class PriceSerializer(RowSerializer[Price]):
    kind = Choice([kind.value for kind in PriceKind])
    amount_minor = Whole(
        source="amount",
        min_value=0,
        max_value=MOST_AMOUNT,
        help_text="in minor units of the currency of /settings/, such as cents; an hour is above 0",
    )
    since = Day(help_text="the first day on which it holds")
    crew = OwnRelated(Crew, required=False, allow_null=True, help_text="null: of all crews")
    house = OwnRelated(House, required=False, allow_null=True, help_text="null: of all houses")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        if not {"kind", "amount", "since"} <= said.keys():
            return  # what is missing says so itself
        company = self.context["company"]
        line = _line(said, self.instance)
        rows = Price.objects.filter(company=company)
        for fault in price_faults(company, [line], rows):
            yield replace(fault, place=fault.place.removeprefix("price-"))


def _line(said: Mapping[str, Any], row: Price | None, *, remove: bool = False) -> PriceLine:
    seen: dict[str, Any] = {"public_id": row.public_id, "version": row.version} if row else {}
    return PriceLine("price", **said, **seen, remove=remove)


class PriceListing(Listing):
    kind = Choice([kind.value for kind in PriceKind], required=False)
    crew = serializers.UUIDField(required=False, source="crew__public_id")
    house = serializers.UUIDField(required=False, source="house__public_id")


class Prices(Editable[Price]):
    """Prices of the company, of its crews and houses, each with the day from which it holds."""

    needs = Right.PLAN
    model = Price
    lookup_value_converter = "price"
    serializer_class = PriceSerializer
    query = PriceListing
    related = ("crew", "house")
    logs = (Change.What.PRICE,)

    def make(self, values: Mapping[str, Any]) -> Price:
        company = self.company(self.request)
        edit_prices(company=company, lines=[_line(values, None)])
        owner = {"crew": None, "house": None, **values}
        del owner["amount"]
        return Price.objects.get(company=company, **owner)

    def edit(self, row: Price, values: Mapping[str, Any]) -> None:
        said = {name: getattr(row, name) for name in FIELDS}
        self._put(_line({**said, **values}, row))

    def remove(self, row: Price) -> None:
        said = {name: getattr(row, name) for name in FIELDS}
        self._put(_line(said, row, remove=True))

    def _put(self, line: PriceLine) -> None:
        edit_prices(company=self.company(self.request), lines=[line])
