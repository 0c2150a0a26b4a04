"""What is bought beside compounds, and what of all material is there or on its way."""

from collections.abc import Mapping
from datetime import date

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.compound import Compound
from finishing.models.limits import Limits, within
from finishing.models.owned import Owned
from finishing.models.packs import LARGEST_PACK, SMALLEST_PACK, pack_faults
from finishing.rules.supplies import SupplyKind

LIMITS: Mapping[str, Limits] = {"used_per_unit": (0.0001, 20), "lead_days": (0, 365)}
"""The least and the most that each figure of a supply may be."""
MOST_PACKS_THERE = 100_000


class Supply(Owned):
    """Tape, beads or sandpaper as the company buys it.

    packs: sizes, in metres or pieces. pack_prices: of each of these, in minor units; empty where
    none is known. used_per_unit: bought for a metre of joint or corner, or for a m2 sanded.
    lead_days: from ordering to delivery. awaited: plans wait for its delivery.
    """

    kind = models.CharField(max_length=12, choices=[(k, k.value) for k in SupplyKind])
    name = models.CharField(max_length=120)
    packs = models.JSONField(default=list)
    pack_prices = models.JSONField(default=list, blank=True)
    used_per_unit = models.FloatField(default=1.1, validators=within(LIMITS["used_per_unit"]))
    lead_days = models.PositiveSmallIntegerField(default=0, validators=within(LIMITS["lead_days"]))
    awaited = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["company", "kind"], name="supply_kind_once")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse packs that there are not."""
        faults = pack_faults(self.packs, self.pack_prices, sizes_in="packs", largest=LARGEST_PACK)
        if found := dict(faults):
            raise ValidationError(found)


class StockLine(Owned):
    """So many full packs of one size, in the store or on their way.

    arrives_on: the day from which they are there; one that is past or today: they are.
    counted_on: as they were on the morning of that day, before crews loaded; None where nobody has
    said when (lines from before it was asked for).
    """

    compound = models.ForeignKey(
        Compound, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    supply = models.ForeignKey(
        Supply, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    pack_size = models.FloatField(help_text="kg of a compound, metres or pieces of what else")
    packs = models.PositiveIntegerField(validators=within((1, MOST_PACKS_THERE)))
    arrives_on = models.DateField()
    counted_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return str(self.compound or self.supply)

    @property
    def of_item(self) -> str:
        """The key of the item it is of."""
        return f"compound:{self.compound_id}" if self.compound_id else f"supply:{self.supply_id}"

    @property
    def amount(self) -> float:
        """What was counted, in kg, metres or pieces."""
        return self.pack_size * self.packs

    @property
    def drawn_from(self) -> date | None:
        """The first day on which visits can have taken of it, None where that is not known."""
        return max(self.counted_on, self.arrives_on) if self.counted_on else None

    def clean(self) -> None:
        """Refuse packs that hold nothing, and of nothing or of two things."""
        faults = {}
        if self.pack_size is not None and not SMALLEST_PACK <= self.pack_size < LARGEST_PACK:
            faults["pack_size"] = f"must be at least {SMALLEST_PACK:g} and below {LARGEST_PACK:g}"
        if (self.compound_id is None) == (self.supply_id is None):
            faults["compound"] = "say of which compound, or of which supply"
        if faults:
            raise ValidationError(faults)
