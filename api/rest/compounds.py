"""/api/v1/compounds/: what is put on, as the company uses it and its label says."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

from api.rest.fields import Choice, Number, Percent, Several, Text, Whole, YesNo
from api.rest.query import Listing
from api.rest.rows import Editable
from api.rest.serializers import RowSerializer
from finishing.models import Change, Compound
from finishing.models.compound import LIMITS
from finishing.models.packs import HEAVIEST_PACK_KG, HIGHEST_PRICE
from finishing.rules.compounds import NEEDS_COMPOUND
from finishing.rules.vocabulary import Hardening, Stage, Tape
from finishing.services.compounds import (
    SystemFaultsError,
    compound_faults,
    remove_compound,
    save_compound,
)
from finishing.services.errors import Fault, InputFaults
from scheduling.compound_wording import system_faults_said

STAGES = tuple(stage for stage in Stage if stage in NEEDS_COMPOUND)
MOST_PACKS = 20


def _figure(name: str, said: str = "") -> Number:
    least, most = LIMITS[name]
    return Number(min_value=least, max_value=most, required=False, help_text=said)


def _whole(name: str, said: str) -> Whole:
    least, most = LIMITS[name]
    return Whole(min_value=int(least), max_value=int(most), required=False, help_text=said)


class CompoundSerializer(RowSerializer[Compound]):
    name = Text(max_length=120)
    hardening = Choice([one.value for one in Hardening])
    stages = Several(STAGES, help_text="it may be used for")
    tapes = Several(Tape, required=False, help_text="it may bed")
    hard = YesNo(required=False, help_text="never goes over a softer one")
    deep_fill = YesNo(required=False, help_text="may fill deep gaps")
    working_minutes = _whole("working_minutes", "from mixing on; 0 where it does not set")
    set_hours = _figure("set_hours", "0 where it does not set")
    practice_hours = _figure("practice_hours", "least wait to the next coat, in whatever air")
    sand_hours = _figure("sand_hours", "least wait to sanding")
    density_kg_per_l = _figure("density_kg_per_l", "when wet")
    water_percent = Percent(
        source="water_fraction",
        min_value=100 * LIMITS["water_fraction"][0],
        max_value=100 * LIMITS["water_fraction"][1],
        required=False,
        help_text="by weight when wet",
    )
    powder_kg_per_l = _figure("powder_kg_per_l", "in a litre mixed; 0 where it is ready-mixed")
    pack_kg = serializers.ListField(
        child=Number(min_value=0, max_value=HEAVIEST_PACK_KG),
        max_length=MOST_PACKS,
        required=False,
        help_text="sizes that it is bought in",
    )
    pack_prices = serializers.ListField(
        child=Whole(min_value=0, max_value=HIGHEST_PRICE),
        max_length=MOST_PACKS,
        required=False,
        help_text="of each of pack_kg, smallest coin; none: not known; absent for who may not plan",
    )
    opened_days = _whole("opened_days", "that an opened pack keeps; 0: not to another day")
    lead_days = _whole("lead_days", "from ordering to delivery")
    awaited = YesNo(required=False, help_text="plans wait for its delivery")
    minimum_c = _figure("minimum_c", "of the air while worked and until dry or set")
    maximum_c = _figure("maximum_c")
    conditioning_hours = _figure("conditioning_hours", "as warm as minimum_c before it")

    for_planners = ("pack_prices",)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        said = self.together(values, self.instance)
        yield from compound_faults(self.context["company"], self.instance, said)


class CompoundListing(Listing):
    name = serializers.CharField(required=False, help_text="exactly")


class Compounds(Editable[Compound]):
    """Compounds. One that a jointing system or a coat done names is not removed, and none becomes
    such that a system that works would not work any more."""

    model = Compound
    lookup_value_converter = "compound"
    serializer_class = CompoundSerializer
    query = CompoundListing
    logs = (Change.What.COMPOUND,)

    def make(self, values: Mapping[str, Any]) -> Compound:
        return self._save(None, values)

    def edit(self, row: Compound, values: Mapping[str, Any]) -> None:
        self._save(row, values)

    def remove(self, row: Compound) -> None:
        remove_compound(compound=row, version=row.version)

    def _save(self, row: Compound | None, values: Mapping[str, Any]) -> Compound:
        company, version = self.company(self.request), row.version if row else 0
        try:
            return save_compound(company=company, compound=row, version=version, values=values)
        except SystemFaultsError as error:
            raise InputFaults(system_faults_said(error)) from None
