"""Dehumidifiers and heaters that a company has."""

from django.core.exceptions import ValidationError
from django.db import models

from finishing.models.owned import Owned
from finishing.rules.cold import LEAST_HOLD_C, TEMPORARY_HEAT_C
from finishing.rules.vocabulary import DryerKind


class Dryer(Owned):
    """Units of one kind, kept at one place.

    litres_per_day: what one takes out of air at rated_c (C) and rated_humidity (a fraction); it
    starts above hold_humidity and stops below least_c. tank_l: blank where it drains. heat_kw: the
    most one gives, up to hold_c. flame: it burns something in the house.
    cost_per_day: of running one, in minor units of the company's money. house: where they stand,
    brought there by somebody else or before the first plan.
    """

    name = models.CharField(max_length=120)
    kind = models.CharField(
        max_length=12, choices=[(k, k.value) for k in DryerKind], default=DryerKind.DEHUMIDIFIER
    )
    count = models.PositiveSmallIntegerField(default=1)
    litres_per_day = models.FloatField(default=0)
    rated_c = models.FloatField(default=26.7)
    rated_humidity = models.FloatField(default=0.6)
    hold_humidity = models.FloatField(default=0.5)
    least_c = models.FloatField(default=5)
    tank_l = models.FloatField(null=True, blank=True)
    heat_kw = models.FloatField(default=0)
    hold_c = models.FloatField(default=20, help_text="a heater's thermostat, in C")
    flame = models.BooleanField(default=False, help_text="unvented: it leaves its water inside")
    cost_per_day = models.PositiveIntegerField(default=0)
    move_minutes = models.PositiveSmallIntegerField(
        default=10, help_text="person-minutes of a visit to set one down, and again to collect it"
    )
    place = models.CharField(max_length=120, blank=True, help_text="where they are kept")
    house = models.ForeignKey(
        "finishing.House", on_delete=models.SET_NULL, null=True, blank=True, related_name="dryers"
    )
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="dryer_name_once")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a unit that does nothing, and figures that cannot be."""
        faults: dict[str, str] = {}
        if self.kind == DryerKind.DEHUMIDIFIER and not self.litres_per_day > 0:
            faults["litres_per_day"] = "a dehumidifier takes out more than 0 litres a day"
        if self.kind == DryerKind.HEATER and not self.heat_kw > 0:
            faults["heat_kw"] = "a heater gives more than 0 kW"
        if self.tank_l is not None and not self.tank_l > 0:
            faults["tank_l"] = "a tank holds more than 0 litres; leave it blank where it drains"
        if not LEAST_HOLD_C <= self.hold_c <= TEMPORARY_HEAT_C:
            faults["hold_c"] = f"is from {LEAST_HOLD_C:g} to {TEMPORARY_HEAT_C:g} C"
        for field in ("rated_humidity", "hold_humidity"):
            if not 0 < getattr(self, field) <= 1:
                faults[field] = "is a fraction above 0 and up to 1"
        if faults:
            raise ValidationError(faults)
