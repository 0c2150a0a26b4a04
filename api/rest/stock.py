"""/api/v1/stock/: full packs in the store or on their way."""

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from django.utils import timezone
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
from scheduling.services.material_visits import today_of
from scheduling.services.stock_now import company_stock


class StockSerializer(RowSerializer[StockLine]):
    compound = OwnRelated(Compound, required=False, allow_null=True)
    supply = OwnRelated(Supply, required=False, allow_null=True, help_text="or this")
    pack_size = Number(
        min_value=0, max_value=LARGEST_PACK, help_text="kg of a compound, metres or pieces else"
    )
    packs = Whole(min_value=1, max_value=MOST_PACKS_THERE, help_text="full ones of this size")
    arrives_on = Day(help_text="they are there from this day on")
    counted_on = Day(
        required=False,
        allow_null=True,
        help_text="as they were that morning; today where packs are new or changed without it",
    )
    used = serializers.SerializerMethodField(
        help_text="what visits have opened since, as the plan works it out; in the pack's unit"
    )
    left = serializers.SerializerMethodField(help_text="what is reckoned to be there now")

    def get_used(self, row: StockLine) -> float:
        return self._used[row.pk]

    def get_left(self, row: StockLine) -> float:
        return row.amount - self._used[row.pk]

    @cached_property
    def _used(self) -> Mapping[int, float]:
        """How much of each line is used, by its primary key."""
        stock = company_stock(company=self.context["company"], now=timezone.now())
        return {one.line.pk: one.used for one in stock}

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        company = self.context["company"]
        yield from stock_faults(company, said, today_of(company, timezone.now()))


class StockListing(Listing):
    compound = serializers.UUIDField(required=False, source="compound__public_id")
    supply = serializers.UUIDField(required=False, source="supply__public_id")


class Stock(Editable[StockLine]):
    """What the order list counts on: as it was counted, less what visits have opened since."""

    model = StockLine
    lookup_value_converter = "stock_line"
    serializer_class = StockSerializer
    query = StockListing
    related = ("compound", "supply")
    logs = (Change.What.STOCK,)

    def make(self, values: Mapping[str, Any]) -> StockLine:
        company = self.company(self.request)
        today = today_of(company, self.now())
        return save_stock(company=company, line=None, version=0, values=values, today=today)

    def edit(self, row: StockLine, values: Mapping[str, Any]) -> None:
        today = today_of(row.company, self.now())
        save_stock(company=row.company, line=row, version=row.version, values=values, today=today)

    def remove(self, row: StockLine) -> None:
        remove_material(row=row, version=row.version)
