"""/api/v1/stock/: full packs in the store or on their way."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Day, Number, OwnRelated, Whole
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Compound, StockLine, Supply
from finishing.models.packs import LARGEST_PACK
from finishing.models.supply import MOST_PACKS_THERE
from finishing.services.errors import Fault
from finishing.services.supplies import remove_material, save_stock, stock_faults


class StockSerializer(RowSerializer[StockLine]):
    compound = OwnRelated(Compound, required=False, allow_null=True)
    supply = OwnRelated(Supply, required=False, allow_null=True, help_text="or this")
    pack_size = Number(
        min_value=0, max_value=LARGEST_PACK, help_text="kg of a compound, metres or pieces else"
    )
    packs = Whole(min_value=1, max_value=MOST_PACKS_THERE, help_text="full ones of this size")
    arrives_on = Day(help_text="they are there from this day on")

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        yield from stock_faults(self.context["company"], said)


class StockListing(Listing):
    compound = serializers.UUIDField(required=False, source="compound__public_id")
    supply = serializers.UUIDField(required=False, source="supply__public_id")


class Stock(Editable[StockLine]):
    """What the order list counts on. What crews use up is taken off by counting again."""

    model = StockLine
    lookup_value_converter = "stock_line"
    serializer_class = StockSerializer
    query = StockListing
    related = ("compound", "supply")
    logs = (Change.What.STOCK,)

    def make(self, values: Mapping[str, Any]) -> StockLine:
        company = self.company(self.request)
        return save_stock(company=company, line=None, version=0, values=values)

    def edit(self, row: StockLine, values: Mapping[str, Any]) -> None:
        save_stock(company=row.company, line=row, version=row.version, values=values)

    def remove(self, row: StockLine) -> None:
        remove_material(row=row, version=row.version)
