"""A house that is not yet won: what it is like, and what was last found out about it.

It is no house: plans, calendars and lists of houses know nothing of it until it is won."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext as _

from finishing.models.house import LIMITS
from finishing.models.limits import within
from finishing.models.owned import Owned

MARGIN_PERCENT = (0, 500)


class Quote(Owned):
    """A house to be priced: like another one, or rooms of so many m2.

    rooms: name, walls_m2 and ceiling_m2 of each, where there is no house that it is like. opens_on:
    its first day for finishing work. setpoint_c, heated_from: how its house will be heated,
    whatever is done in the house that it is like. margin_percent: on top of the cost. found,
    found_at: hours, costs, the earliest handover and its odds, as they were last found
    (``scheduling/services/quote_found.py``). won: the house that it became.
    """

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=250, blank=True)
    like = models.ForeignKey(
        "finishing.House", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    rooms = models.JSONField(default=list, blank=True)
    level = models.CharField(max_length=4, blank=True)
    opens_on = models.DateField()
    setpoint_c = models.FloatField(
        null=True,
        blank=True,
        validators=within(LIMITS["setpoint_c"]),
        help_text="that it will be held at; blank: not heated",
    )
    heated_from = models.DateField(
        null=True, blank=True, help_text="day from which it is; blank: before its first day"
    )
    margin_percent = models.FloatField(default=0, validators=within(MARGIN_PERCENT))
    found = models.JSONField(default=dict, blank=True)
    found_at = models.DateTimeField(null=True, blank=True)
    won = models.OneToOneField(
        "finishing.House", on_delete=models.SET_NULL, null=True, blank=True, related_name="quote"
    )

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="quote_name_once")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a quote of nothing."""
        if self.won is None and self.like is None and not self.rooms:
            raise ValidationError({"rooms": _("Say which house it is like, or type its rooms.")})
