"""Labour rates, each with where it comes from and when."""

from django.db import models

from finishing.models.owned import Owned
from finishing.rules.vocabulary import JointKind, Stage


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
