"""/api/v1/supplies/: tape, beads and sandpaper, as the company buys them."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Number, Text, Whole, YesNo
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Supply
from finishing.models.packs import HIGHEST_PRICE, LARGEST_PACK
from finishing.models.supply import LIMITS
from finishing.rules.supplies import SupplyKind
from finishing.services.errors import Fault
from finishing.services.supplies import remove_material, save_supply, supply_faults

KINDS = [kind.value for kind in SupplyKind]
MOST_PACKS = 20


class SupplySerializer(RowSerializer[Supply]):
    kind = Choice(KINDS, help_text="stays; the company has one row of each")
    name = Text(max_length=120)
    packs = serializers.ListField(
        child=Number(min_value=0, max_value=LARGEST_PACK),
        max_length=MOST_PACKS,
        help_text="sizes: metres of tape and beads, sheets of sandpaper",
    )
    pack_prices = serializers.ListField(
        child=Whole(min_value=0, max_value=HIGHEST_PRICE),
        max_length=MOST_PACKS,
        required=False,
        help_text="of each of packs, smallest coin; none: not known; absent for who may not plan",
    )
    used_per_unit = Number(
        min_value=LIMITS["used_per_unit"][0],
        max_value=LIMITS["used_per_unit"][1],
        required=False,
        help_text="bought for a metre of joint or corner, or for a m2 sanded; waste included",
    )
    lead_days = Whole(
        min_value=int(LIMITS["lead_days"][0]),
        max_value=int(LIMITS["lead_days"][1]),
        required=False,
        help_text="from ordering to delivery",
    )
    awaited = YesNo(required=False, help_text="plans wait for its delivery")

    fixed = ("kind",)

    for_planners = ("pack_prices",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        yield from supply_faults(self.context["company"], self.instance, said)


class SupplyListing(Listing):
    kind = Choice(KINDS, required=False)


class Supplies(Editable[Supply]):
    """What is bought beside compounds; what goes, goes with what is in store of it."""

    model = Supply
    lookup_value_converter = "supply"
    serializer_class = SupplySerializer
    query = SupplyListing
    logs = (Change.What.SUPPLY, Change.What.STOCK)
    logged_as = (Change.What.SUPPLY,)

    def make(self, values: Mapping[str, Any]) -> Supply:
        company = self.company(self.request)
        return save_supply(company=company, supply=None, version=0, values=values)

    def edit(self, row: Supply, values: Mapping[str, Any]) -> None:
        save_supply(company=row.company, supply=row, version=row.version, values=values)

    def remove(self, row: Supply) -> None:
        remove_material(row=row, version=row.version)
