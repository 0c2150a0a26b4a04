"""The ceiling and the walls of a room, as bodies have them."""

from collections.abc import Iterator, Mapping
from typing import Any

from api.rest.fields import Choice, Number, Text, Whole, YesNo
from api.rest.serializers import Strict
from finishing.models import Surface
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import Family, JointKind
from finishing.services.errors import Fault
from finishing.services.house_entries import SurfaceEntry
from finishing.services.takeoff_sheet import MOST

KINDS = (JointKind.TAPERED, JointKind.BUTT, JointKind.INTERNAL, JointKind.EXTERNAL)
MOST_FASTENERS = 1_000_000


def _metres() -> Number:
    return Number(min_value=0, max_value=MOST, default=0.0)


class MetresSerializer(Strict):
    """Metres by kind of joint."""

    tapered = _metres()
    butt = _metres()
    internal = _metres()
    external = _metres()

    def to_representation(self, instance: Any) -> dict[str, float]:
        """Return the metres of a surface's lines."""
        by_kind = {line.kind: line.metres for line in instance.all()}
        return {kind.value: by_kind.get(kind, 0.0) for kind in KINDS}


class SurfaceSerializer(Strict):
    """Figures are given where they were measured, and m2 for a rough takeoff; the others are
    worked out."""

    part = Choice(Surface.Part.values)
    family = Choice([family.value for family in Family], help_text="of finish levels")
    level = Text(max_length=4)
    takeoff = Choice(Surface.Takeoff.values, help_text="rooms: from the room's sizes")
    metres = MetresSerializer(source="joints", required=False)
    fasteners = Whole(min_value=0, max_value=MOST_FASTENERS, default=0)
    area_m2 = Number(min_value=0, max_value=MOST, default=0.0)
    cornice_m = Number(min_value=0, max_value=MOST, default=0.0)
    critical_light = YesNo(default=False)
    wet_area = YesNo(default=False)
    tiled_later = YesNo(default=False)
    plastic_beads = YesNo(default=False)

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if "family" not in values or "level" not in values:
            return
        levels = levels_of(Family(values["family"]))
        if values["level"] not in levels:
            said = f"{values['family']} has the levels {', '.join(levels)}."
            yield Fault("level", said)


def surface_entry(values: Mapping[str, Any]) -> SurfaceEntry:
    """Return a surface as the services take it."""
    said = {name: value for name, value in values.items() if name != "joints"}
    metres = {JointKind(kind): length for kind, length in values.get("joints", {}).items()}
    return SurfaceEntry(
        **{
            **said,
            "part": Surface.Part(said["part"]),
            "family": Family(said["family"]),
            "takeoff": Surface.Takeoff(said["takeoff"]),
            "metres": {kind: length for kind, length in metres.items() if length},
        }
    )
