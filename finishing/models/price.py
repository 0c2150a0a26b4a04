"""What a company's hours, ways and late days cost, each with the day from which it holds."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext as _

from finishing.models.owned import Owned
from finishing.rules.prices import NEVER_FREE, OF_CREWS, PriceKind

MOST_AMOUNT = 2_000_000_000
"""In minor units: as much as its column holds in every database."""


class Price(Owned):
    """A price in minor units of the company's money; crew, house: whose it is, none for all."""

    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in PriceKind])
    amount = models.PositiveIntegerField()
    since = models.DateField(help_text="the first day on which it holds")
    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    house = models.ForeignKey(
        "finishing.House", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["kind", "since", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["company", "kind", "since"],
                condition=Q(crew=None, house=None),
                name="price_of_company_once",
            ),
            models.UniqueConstraint(fields=["crew", "kind", "since"], name="price_of_crew_once"),
            models.UniqueConstraint(fields=["house", "kind", "since"], name="price_of_house_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.since}"

    def clean(self) -> None:
        """Refuse an hour for nothing, and a price of what its owner has none of."""
        faults: dict[str, str] = {}
        if self.amount is not None:
            if self.kind in NEVER_FREE and self.amount == 0:
                faults["amount"] = _(
                    "An hour costs more than 0; leave it out where you are unsure."
                )
            elif self.amount > MOST_AMOUNT:
                faults["amount"] = _("This is more than any price: check the zeros.")
        if self.crew is not None and self.kind not in OF_CREWS:
            faults["crew"] = _("A late day is a house's, not a crew's.")
        if self.house is not None and self.kind in OF_CREWS:
            faults["house"] = _("This is a crew's price, or everybody's, and never a house's.")
        for name in ("crew", "house"):
            owner = getattr(self, name)
            if owner is not None and owner.company_id != self.company_id:
                faults[name] = "is another company's"
        if faults:
            raise ValidationError(faults)
