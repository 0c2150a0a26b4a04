"""Extra work as the builder is told of it."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext as _

from finishing.models.owned import Owned
from finishing.models.price import MOST_AMOUNT
from finishing.rules.pay import amount_by_hour

MOST_MINUTES = 1_000 * 60


class BuilderLine(Owned):
    """A line for a house's builder. rate: minor units of the company's money a person-hour.
    agreed_on: None until the builder agrees."""

    house = models.ForeignKey(
        "finishing.House", on_delete=models.CASCADE, related_name="builder_lines"
    )
    day = models.DateField()
    text = models.CharField(max_length=300)
    person_minutes = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_MINUTES)]
    )
    rate = models.PositiveIntegerField(validators=[MaxValueValidator(MOST_AMOUNT)])
    agreed_on = models.DateField(null=True, blank=True)
    agreed_with = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["day", "id"]
        indexes = [models.Index(fields=["company", "house", "day"])]

    def __str__(self) -> str:
        return self.text[:80]

    @property
    def amount(self) -> int:
        """Minor units, rounded for the line."""
        return amount_by_hour(self.person_minutes, self.rate)

    def clean(self) -> None:
        """Refuse a house of another company, and somebody who agreed on no day."""
        faults: dict[str, str] = {}
        if self.house.company_id != self.company_id:
            faults["house"] = "is another company's"
        if self.agreed_with and self.agreed_on is None:
            faults["agreed_on"] = _("Say on which day they agreed.")
        if faults:
            raise ValidationError(faults)
