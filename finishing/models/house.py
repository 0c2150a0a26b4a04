"""Houses, their areas, rooms and surfaces, and what was taken off."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator, MinValueValidator
from django.db import models

from finishing.models.hours import validate_hours
from finishing.models.limits import Limits, within
from finishing.models.owned import Owned
from finishing.models.zones import validate_zone
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import CornerTool, Family, Heating, JointKind, RoomKind

AIR_CHANGES_PER_H = 1.0
"""Of a closed house in which crews let in some air: common practice, no published source."""
LIMITS: Mapping[str, Limits] = {
    "latitude": (-90, 90),
    "longitude": (-180, 180),
    "setpoint_c": (0, 40),
    "heat_kw": (0, 1000),
    "volume_m3": (1, 100_000),
    "air_changes_per_h": (0, 100),
}
"""The least and the most that each figure of a house may be."""
MOST_WEIGHT = 32_767
"""As much as its column holds in every database."""
AT_LEAST_0 = MinValueValidator(0)


def _within(field: str) -> list[BaseValidator]:
    return within(LIMITS[field])


class House(Owned):
    """A house to finish. Dates are days in the house's zone."""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=250, blank=True)
    zone = models.CharField(max_length=60, validators=[validate_zone])
    latitude = models.FloatField(null=True, blank=True, validators=_within("latitude"))
    longitude = models.FloatField(null=True, blank=True, validators=_within("longitude"))
    opens_on = models.DateField(null=True, blank=True, help_text="first day for finishing work")
    handover_on = models.DateField()
    weight = models.PositiveSmallIntegerField(default=1, help_text="how much a late day counts")
    is_active = models.BooleanField(default=True, help_text="has work to plan")
    access = models.CharField(
        max_length=200,
        blank=True,
        validators=[validate_hours],
        help_text='hours crews may be inside, "mon-fri 07:00-17:00"',
    )
    heating = models.CharField(
        max_length=10, choices=[(h, h.value) for h in Heating], default=Heating.UNHEATED
    )
    setpoint_c = models.FloatField(null=True, blank=True, validators=_within("setpoint_c"))
    heated_from = models.DateField(
        null=True, blank=True, help_text="day from which it is heated; blank: already"
    )
    heat_kw = models.FloatField(
        null=True,
        blank=True,
        validators=_within("heat_kw"),
        help_text="the most its heaters give; blank: enough",
    )
    flame_heater = models.BooleanField(default=False)
    is_open = models.BooleanField(
        default=False, help_text="no windows yet: its air is outdoor air, until closed_from"
    )
    closed_from = models.DateField(null=True, blank=True, help_text="day from which it is closed")
    volume_m3 = models.FloatField(
        null=True,
        blank=True,
        validators=_within("volume_m3"),
        help_text="blank: from its rooms",
    )
    air_changes_per_h = models.FloatField(
        default=AIR_CHANGES_PER_H,
        validators=_within("air_changes_per_h"),
        help_text="while closed",
    )
    old_joints = models.BooleanField(default=False, help_text="joints from before about 1980")
    fire_rated = models.BooleanField(default=False)
    air_source = models.ForeignKey(
        "finishing.AirSource", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    corner_tool = models.CharField(
        max_length=15,
        choices=[(c, c.value) for c in CornerTool],
        default=CornerTool.FLAT_KNIFE,
    )
    system = models.ForeignKey(
        "finishing.JointingSystem",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["company", "name"], name="house_name_once")]

    def __str__(self) -> str:
        return self.name

    @property
    def held_c(self) -> float | None:
        """The temperature that its own heating holds it at; None where it has none."""
        return self.setpoint_c if self.heating == Heating.HEATED else None


class Area(Owned):
    """Rooms that the office groups, a floor or a wing. One floor is one air space."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="areas")
    name = models.CharField(max_length=120)
    floor = models.CharField(max_length=60, blank=True, help_text="areas of one floor share air")
    position = models.PositiveSmallIntegerField(default=0)
    handover_on = models.DateField(null=True, blank=True, help_text="where it differs")
    system = models.ForeignKey(
        "finishing.JointingSystem",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.UniqueConstraint(fields=["house", "name"], name="area_name_once")]

    def __str__(self) -> str:
        return self.name


class Room(Owned):
    """A room; its surfaces are coated together, room after room through the area."""

    class Edge(models.TextChoices):
        SQUARE_SET = "square_set", "taped corner"
        CORNICE = "cornice"

    area = models.ForeignKey(Area, on_delete=models.CASCADE, related_name="rooms")
    name = models.CharField(max_length=120)
    kind = models.CharField(
        max_length=12, choices=[(k, k.value) for k in RoomKind], default=RoomKind.ROOM
    )
    position = models.PositiveSmallIntegerField(default=0)
    length_m = models.FloatField(null=True, blank=True, validators=[AT_LEAST_0])
    width_m = models.FloatField(null=True, blank=True, validators=[AT_LEAST_0])
    height_m = models.FloatField(null=True, blank=True, validators=[AT_LEAST_0])
    openings = models.JSONField(
        default=list, blank=True, help_text="per opening: width_m, height_m, sill_m, lined"
    )
    edge = models.CharField(
        max_length=12, choices=Edge.choices, default=Edge.SQUARE_SET, help_text="wall to ceiling"
    )
    boards_along = models.BooleanField(
        default=True, help_text="boards laid along the room, walls horizontal"
    )

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.UniqueConstraint(fields=["area", "name"], name="room_name_once")]

    def __str__(self) -> str:
        return self.name


class Surface(Owned):
    """A ceiling or the walls of a room: finish level and quantities to finish."""

    class Part(models.TextChoices):
        CEILING = "ceiling"
        WALLS = "walls"

    class Takeoff(models.TextChoices):
        MEASURED = "measured"
        ROOMS = "rooms", "from the room's sizes"
        ROUGH = "rough", "from averages, until measured"

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="surfaces")
    part = models.CharField(max_length=10, choices=Part.choices)
    family = models.CharField(max_length=20, choices=[(f, f.value) for f in Family])
    level = models.CharField(max_length=4)
    critical_light = models.BooleanField(default=False)
    wet_area = models.BooleanField(default=False)
    tiled_later = models.BooleanField(default=False)
    plastic_beads = models.BooleanField(
        default=False, help_text="external corners have plastic beads, which follow their maker"
    )
    takeoff = models.CharField(max_length=10, choices=Takeoff.choices)
    area_m2 = models.FloatField(default=0, validators=[AT_LEAST_0])
    fasteners = models.PositiveIntegerField(default=0)
    cornice_m = models.FloatField(default=0, validators=[AT_LEAST_0])

    class Meta:
        ordering = ["part", "id"]
        constraints = [models.UniqueConstraint(fields=["room", "part"], name="surface_once")]

    def __str__(self) -> str:
        return f"{self.room} {self.part}"

    def clean(self) -> None:
        """Refuse a finish level that its family does not have."""
        if self.family in Family and self.level not in levels_of(Family(self.family)):
            known = ", ".join(levels_of(Family(self.family)))
            raise ValidationError({"level": f"{self.family} has the levels {known}"})


class JointLine(Owned):
    """Metres of one joint kind on a surface."""

    surface = models.ForeignKey(Surface, on_delete=models.CASCADE, related_name="joints")
    kind = models.CharField(max_length=12, choices=[(k, k.value) for k in JointKind])
    metres = models.FloatField(validators=[AT_LEAST_0])

    class Meta:
        constraints = [models.UniqueConstraint(fields=["surface", "kind"], name="joint_kind_once")]
