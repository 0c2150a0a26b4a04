"""Rates out of crews' reports that the office did not want."""

from django.db import models

from finishing.models.owned import Owned
from finishing.rules.vocabulary import Stage


class DeclinedRates(Owned):
    """The office's no to what reports say of a stage's rates: from how many jobs, which factor
    over the rates of then. It is asked again once there are more jobs by ``services.rate_offers``.
    """

    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in Stage])
    jobs = models.PositiveIntegerField()
    factor = models.FloatField()
    declined_at = models.DateTimeField()
    declined_by = models.ForeignKey(
        "finishing.User", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["company", "stage"], name="rates_declined_once")
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.factor:.2f}"
