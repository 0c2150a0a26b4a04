"""The contractor, with the settings that the rules ask for."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.db import models

from finishing.models.currencies import MINOR_DIGITS, validate_currency
from finishing.models.limits import Limits, within
from finishing.models.owned import Row
from finishing.models.zones import validate_zone
from finishing.rules.vocabulary import Family, Stage

LIMITS: Mapping[str, Limits] = {
    "setup_minutes": (0, 240),
    "washup_minutes": (0, 240),
    "worthwhile_minutes": (0, 1440),
    "another_crew_visits": (0, 100),
    "travel_minutes": (0, 600),
    "freeze_days": (0, 60),
    "extra_hour_price": (0, 10_000),
    "recheck_hours": (1, 240),
    "board_width_m": (0.3, 3),
    "board_length_m": (0.3, 10),
    "gap_share": (0, 1),
    "tape_m_per_m2": (0.1, 20),
}
"""The least and the most that each figure of a company may be."""


def default_stages() -> list[str]:
    """Return the stages a new company does: all but touch-ups, which need dates from others."""
    return [stage for stage in Stage if not stage.endswith("touch_up")]


class Company(Row):
    """A finishing contractor. Every other row belongs to one."""

    class DryingRule(models.TextChoices):
        HOURS = "hours", "at least the compound's hours"
        NEXT_DAY = "next_day", "next working day, if the air says dry"

    class PlannedAir(models.TextChoices):
        AVERAGE = "average", "as forecast, past that as in the week before"
        EIGHT_IN_TEN = "eight_in_ten", "so damp that waits hold in 8 of 10"

    name = models.CharField(max_length=120, unique=True)
    zone = models.CharField(max_length=60, default="UTC", validators=[validate_zone])
    country = models.CharField(max_length=2, blank=True, help_text="ISO 3166 code, for holidays")
    currency = models.CharField(
        max_length=3, blank=True, validators=[validate_currency], help_text="ISO 4217 code"
    )
    currency_digits = models.PositiveSmallIntegerField(
        default=2,
        validators=[MaxValueValidator(4)],
        help_text="of its minor unit, in which all amounts are kept: 2 for cents, 0 for none",
    )
    is_demo = models.BooleanField(default=False)
    family = models.CharField(
        max_length=20, choices=[(f, f.value) for f in Family], default=Family.GA214
    )
    stages = models.JSONField(default=default_stages)
    stages_off_by_level = models.JSONField(
        default=dict, blank=True, help_text='stages not done at a level: {"GA-214 2": ["inspect"]}'
    )
    drying_rule = models.CharField(
        max_length=10, choices=DryingRule.choices, default=DryingRule.HOURS
    )
    planned_air = models.CharField(
        max_length=12, choices=PlannedAir.choices, default=PlannedAir.AVERAGE
    )
    setup_minutes = models.PositiveSmallIntegerField(
        default=15, validators=within(LIMITS["setup_minutes"])
    )
    washup_minutes = models.PositiveSmallIntegerField(
        default=15, validators=within(LIMITS["washup_minutes"])
    )
    worthwhile_minutes = models.PositiveSmallIntegerField(
        default=60, validators=within(LIMITS["worthwhile_minutes"])
    )
    another_crew_visits = models.PositiveSmallIntegerField(
        default=0,
        validators=within(LIMITS["another_crew_visits"]),
        help_text="each crew beyond the first in a house counts as so many visits",
    )
    travel_minutes = models.PositiveSmallIntegerField(
        default=25,
        validators=within(LIMITS["travel_minutes"]),
        help_text="between two houses of which one has no position",
    )
    freeze_days = models.PositiveSmallIntegerField(
        default=2,
        validators=within(LIMITS["freeze_days"]),
        help_text="published work on so many days from today on stays as it is",
    )
    extra_hour_price = models.PositiveSmallIntegerField(
        default=240,
        validators=within(LIMITS["extra_hour_price"]),
        help_text="an extra hour of a crew is worked where it saves more late minutes than that, "
        "each counted as often as its house weighs",
    )
    recheck_hours = models.PositiveSmallIntegerField(
        default=4,
        validators=within(LIMITS["recheck_hours"]),
        help_text="how long a coat that was found not dry is left before somebody looks again",
    )
    board_width_m = models.FloatField(default=1.2, validators=within(LIMITS["board_width_m"]))
    board_length_m = models.FloatField(default=3.0, validators=within(LIMITS["board_length_m"]))
    gap_share = models.FloatField(
        default=0.1,
        validators=within(LIMITS["gap_share"]),
        help_text="share of flat joints with gaps to fill before taping, 0 to 1",
    )
    tape_m_per_m2 = models.FloatField(
        default=1.25,
        validators=within(LIMITS["tape_m_per_m2"]),
        help_text="average for rough takeoffs",
    )

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse amounts kept in another unit than the currency's smallest."""
        digits = MINOR_DIGITS.get(self.currency, self.currency_digits)
        if digits != self.currency_digits:
            said = f"{self.currency} has {digits} digits after the point"
            raise ValidationError({"currency_digits": said})
