"""Compounds and jointing systems, edited by the company from plain defaults."""

from collections.abc import Iterator, Mapping

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.limits import Limits, within
from finishing.models.owned import Owned
from finishing.models.packs import HEAVIEST_PACK_KG, pack_faults
from finishing.rules.vocabulary import Hardening, Stage, Tape

LIMITS: Mapping[str, Limits] = {
    "working_minutes": (0, 600),
    "set_hours": (0, 48),
    "practice_hours": (0, 240),
    "sand_hours": (0, 240),
    "density_kg_per_l": (0.5, 3),
    "water_fraction": (0, 0.9),
    "powder_kg_per_l": (0, 3),
    "minimum_c": (-10, 40),
    "maximum_c": (0, 60),
    "conditioning_hours": (0, 240),
    "opened_days": (0, 730),
    "lead_days": (0, 365),
}
"""The least and the most that each figure of a compound may be."""


class Compound(Owned):
    """A compound as the company uses it; the fields mean what rules.vocabulary.Compound says.

    pack_prices: of each of ``pack_kg``, in minor units of the company's currency; empty where none
    is known. opened_days: how long an opened pack keeps (0: not to another day). lead_days: from
    ordering to delivery. awaited: plans wait for its delivery.
    """

    name = models.CharField(max_length=120)
    hardening = models.CharField(max_length=10, choices=[(h, h.value) for h in Hardening])
    stages = models.JSONField(default=list)
    tapes = models.JSONField(default=list, blank=True)
    hard = models.BooleanField(default=False)
    deep_fill = models.BooleanField(default=False)
    working_minutes = models.PositiveSmallIntegerField(
        default=0, validators=within(LIMITS["working_minutes"])
    )
    set_hours = models.FloatField(default=0, validators=within(LIMITS["set_hours"]))
    practice_hours = models.FloatField(default=24, validators=within(LIMITS["practice_hours"]))
    sand_hours = models.FloatField(default=24, validators=within(LIMITS["sand_hours"]))
    density_kg_per_l = models.FloatField(
        default=1.65, validators=within(LIMITS["density_kg_per_l"])
    )
    water_fraction = models.FloatField(default=0.33, validators=within(LIMITS["water_fraction"]))
    powder_kg_per_l = models.FloatField(default=0, validators=within(LIMITS["powder_kg_per_l"]))
    pack_kg = models.JSONField(default=list, blank=True)
    pack_prices = models.JSONField(default=list, blank=True)
    opened_days = models.PositiveSmallIntegerField(
        default=30, validators=within(LIMITS["opened_days"])
    )
    lead_days = models.PositiveSmallIntegerField(default=0, validators=within(LIMITS["lead_days"]))
    awaited = models.BooleanField(default=False)
    minimum_c = models.FloatField(default=10, validators=within(LIMITS["minimum_c"]))
    maximum_c = models.FloatField(default=35, validators=within(LIMITS["maximum_c"]))
    conditioning_hours = models.FloatField(
        default=48, validators=within(LIMITS["conditioning_hours"])
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "name"], name="compound_name_once")
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse air that nothing could be worked in, and packs and uses that there are not."""
        if faults := dict(self._faults()):
            raise ValidationError(faults)

    def _faults(self) -> Iterator[tuple[str, str]]:
        if None not in (self.minimum_c, self.maximum_c) and self.minimum_c >= self.maximum_c:
            yield "maximum_c", "must be above the lowest temperature"
        sets = self.hardening == Hardening.SETS
        if sets and not self.set_hours:
            yield "set_hours", "a setting compound takes some time to set"
        if sets and not self.working_minutes:
            yield "working_minutes", "a setting compound can be worked for some minutes"
        if self.hardening == Hardening.DRIES and not self.water_fraction:
            yield "water_fraction", "a drying compound has water that dries"
        yield from pack_faults(
            self.pack_kg, self.pack_prices, sizes_in="pack_kg", largest=HEAVIEST_PACK_KG
        )
        if unknown := {*self.stages} - {*Stage}:
            yield "stages", f"unknown: {', '.join(sorted(unknown))}"
        if unknown := {*self.tapes} - {*Tape}:
            yield "tapes", f"unknown: {', '.join(sorted(unknown))}"


class JointingSystem(Owned):
    """Which compound does which stage, and the tape."""

    name = models.CharField(max_length=120)
    tape = models.CharField(max_length=10, choices=[(t, t.value) for t in Tape])
    is_default = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="system_name_once")]

    def __str__(self) -> str:
        return self.name


class SystemStage(Owned):
    """The compound a system uses for a stage."""

    system = models.ForeignKey(JointingSystem, on_delete=models.CASCADE, related_name="stage_rows")
    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in Stage])
    compound = models.ForeignKey(Compound, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["system", "stage"], name="system_stage_once")
        ]
