"""Compounds and jointing systems, edited by the company from plain defaults."""

from django.db import models

from finishing.models.owned import Owned
from finishing.rules.vocabulary import Hardening, Stage, Tape


class Compound(Owned):
    """A compound as the company uses it; the fields mean what rules.vocabulary.Compound says."""

    name = models.CharField(max_length=120)
    hardening = models.CharField(max_length=10, choices=[(h, h.value) for h in Hardening])
    stages = models.JSONField(default=list)
    tapes = models.JSONField(default=list, blank=True)
    hard = models.BooleanField(default=False)
    deep_fill = models.BooleanField(default=False)
    working_minutes = models.PositiveSmallIntegerField(default=0)
    set_hours = models.FloatField(default=0)
    practice_hours = models.FloatField(default=24)
    sand_hours = models.FloatField(default=24)
    density_kg_per_l = models.FloatField(default=1.65)
    water_fraction = models.FloatField(default=0.33)
    powder_kg_per_l = models.FloatField(default=0)
    pack_kg = models.JSONField(default=list, blank=True)
    minimum_c = models.FloatField(default=10)
    maximum_c = models.FloatField(default=35)
    conditioning_hours = models.FloatField(default=48)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "name"], name="compound_name_once")
        ]

    def __str__(self) -> str:
        return self.name


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
