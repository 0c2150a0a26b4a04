"""What crews and people are paid, each agreement with the day from which it holds."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext as _

from finishing.models.owned import Owned
from finishing.models.price import MOST_AMOUNT
from finishing.rules.vocabulary import Stage


class PayTerm(Owned):
    """An agreement on pay: of a crew, by the hour of each of its people (stage "") or by the
    square metre of a stage to all of it; or of a person by name, by the hour, in whatever crew.

    amount: minor units of the company's money. It holds until the next of the same.
    """

    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    person = models.CharField(max_length=120, blank=True)
    stage = models.CharField(max_length=20, choices=[(s, s.value) for s in Stage], blank=True)
    amount = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_AMOUNT)]
    )
    since = models.DateField(help_text="the first day on which it holds")

    class Meta:
        ordering = ["since", "id"]
        constraints = [
            models.UniqueConstraint(fields=["crew", "stage", "since"], name="pay_of_crew_once"),
            models.UniqueConstraint(
                fields=["company", "person", "since"],
                condition=Q(crew=None),
                name="pay_of_person_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.crew or self.person} {self.stage} {self.since}"

    def clean(self) -> None:
        """Refuse one of nobody or of two, and a person's by the square metre."""
        faults: dict[str, str] = {}
        if (self.crew is None) == (self.person == ""):
            faults["person"] = _("Choose a crew, or else name a person.")
        if self.person and self.stage:
            faults["stage"] = _("By the square metre a whole crew is paid, not a person.")
        if self.crew is not None and self.crew.company_id != self.company_id:
            faults["crew"] = "is another company's"
        if faults:
            raise ValidationError(faults)
