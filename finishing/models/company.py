"""The contractor, with the settings that the rules ask for."""

from django.db import models

from finishing.models.owned import Row
from finishing.models.zones import validate_zone
from finishing.rules.vocabulary import Family, Stage


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
    setup_minutes = models.PositiveSmallIntegerField(default=15)
    washup_minutes = models.PositiveSmallIntegerField(default=15)
    worthwhile_minutes = models.PositiveSmallIntegerField(default=60)
    another_crew_visits = models.PositiveSmallIntegerField(
        default=0, help_text="each crew beyond the first in a house counts as so many visits"
    )
    travel_minutes = models.PositiveSmallIntegerField(
        default=25, help_text="between two houses of which one has no position"
    )
    freeze_days = models.PositiveSmallIntegerField(
        default=2, help_text="published work on so many days from today on stays as it is"
    )
    extra_hour_price = models.PositiveSmallIntegerField(
        default=240,
        help_text="an extra hour of a crew is worked where it saves more late minutes than that, "
        "each counted as often as its house weighs",
    )
    recheck_hours = models.PositiveSmallIntegerField(
        default=4,
        help_text="how long a coat that was found not dry is left before somebody looks again",
    )
    board_width_m = models.FloatField(default=1.2)
    board_length_m = models.FloatField(default=3.0)
    gap_share = models.FloatField(
        default=0.1, help_text="share of flat joints with gaps to fill before taping, 0 to 1"
    )
    tape_m_per_m2 = models.FloatField(default=1.25, help_text="average for rough takeoffs")

    def __str__(self) -> str:
        return self.name
