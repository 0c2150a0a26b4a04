"""Rates of work, each with where it comes from and when."""

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.limits import within
from finishing.models.owned import Owned
from finishing.rules.labour import DEFAULT_RATES
from finishing.rules.placing import PLACED
from finishing.rules.vocabulary import JointKind, Stage

MOST_MINUTES = 600.0
PLACING_LIMITS = (0.1, 500.0)


class LabourRate(Owned):
    """Person-minutes per unit of a kind in a stage, replacing the default of rules.labour."""

    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in Stage])
    kind = models.CharField(max_length=12, choices=[(k, k.value) for k in JointKind])
    minutes = models.FloatField(help_text="person-minutes per metre, fastener or m2")
    source = models.CharField(max_length=200)
    dated = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "stage", "kind"], name="rate_once")
        ]

    def clean(self) -> None:
        """Refuse minutes that are none, and a kind that the stage does not work on."""
        faults = {}
        if self.minutes is not None and not 0 < self.minutes < MOST_MINUTES:
            faults["minutes"] = f"must be above 0 and below {MOST_MINUTES:g}"
        if not any((rate.stage, rate.kind) == (self.stage, self.kind) for rate in DEFAULT_RATES):
            faults["kind"] = f"no rate is needed for {self.kind} in {self.stage}"
        if faults:
            raise ValidationError(faults)


class PlacingRate(Owned):
    """Litres of mixed compound that a person puts on in an hour, in place of the rules' own."""

    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in PLACED])
    litres_per_hour = models.FloatField(validators=within(PLACING_LIMITS))
    source = models.CharField(max_length=200)
    dated = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "stage"], name="placing_rate_once")
        ]
