"""The changes of a scenario as JSON: of which kind each is, and what that kind needs."""

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields
from typing import Any, cast

from rest_framework import serializers

from api.rest.fields import Choice, Day, Number, OwnRelated, Percent, Whole
from api.rest.serializers import Strict
from finishing.models import Crew, Dryer, House, JointingSystem
from finishing.models.house import LIMITS
from finishing.models.owned import Owned
from finishing.services.errors import Fault
from scheduling.services.scenario_changes import KINDS, ScenarioChange
from scheduling.services.scenario_faults import DAMPER, MOST_DRYERS, WARMER_C, faults_of

MOST_ROWS = 100


def _rows(kind: type[Owned], said: str) -> Any:
    one = OwnRelated(kind)
    return serializers.ListField(
        child=cast("Any", one), required=False, max_length=MOST_ROWS, help_text=said
    )


class TriedChangeSerializer(Strict):
    """One thing that is otherwise: its kind, and the fields of that kind."""

    kind = Choice([*KINDS])
    crew = OwnRelated(Crew, required=False, help_text="crew_more: works as it does; crew_less")
    crews = _rows(Crew, "saturdays")
    system = OwnRelated(JointingSystem, required=False, help_text="other_system")
    houses = _rows(House, "other_system (none: all without one of their own), heated_houses")
    dryer = OwnRelated(Dryer, required=False, help_text="more_dryers")
    count = Whole(required=False, min_value=1, max_value=MOST_DRYERS, help_text="more_dryers")
    house = OwnRelated(
        House,
        required=False,
        allow_null=True,
        help_text="fixed_handover; more_dryers (null: wherever they help)",
    )
    day = Day(required=False, help_text="fixed_handover")
    first = Day(required=False, help_text="saturdays, other_weather")
    last = Day(required=False, help_text="saturdays, other_weather")
    from_day = Day(required=False, allow_null=True, help_text="heated_houses; null: at once")
    setpoint_c = Number(
        required=False,
        min_value=LIMITS["setpoint_c"][0],
        max_value=LIMITS["setpoint_c"][1],
        help_text="heated_houses",
    )
    humidity_points = Percent(
        source="damper",
        required=False,
        min_value=100 * DAMPER[0],
        max_value=100 * DAMPER[1],
        help_text="other_weather: points of relative humidity more",
    )
    warmer_c = Number(
        required=False, min_value=WARMER_C[0], max_value=WARMER_C[1], help_text="other_weather"
    )

    def faults(self, values: Mapping[str, Any]) -> Iterator[Fault]:
        if "kind" not in values:
            return
        of_kind = fields(KINDS[values["kind"]])
        known = {"kind", *(field.name for field in of_kind)}
        needed = {field.name for field in of_kind if field.default is MISSING}
        yield from (Fault(name, "Goes with another kind.") for name in values.keys() - known)
        lacking = {name for name in needed if values.get(name) is None}
        yield from (Fault(name, "Is needed for this kind.") for name in lacking)
        if not lacking and values.keys() <= known:
            found = faults_of(self.context["company"], read_change(values))
            yield from (Fault(name, text) for name, text in found)

    def to_representation(self, instance: Any) -> dict[str, Any]:
        """Return what is stored of a change, in the names of its fields."""
        said = {name: value for name, value in instance.items() if name != "damper"}
        if "damper" in instance:
            said["humidity_points"] = round(100 * instance["damper"], 6)
        return said


def read_change(values: Mapping[str, Any]) -> ScenarioChange:
    """Return a change from good values, which name rows."""
    kind = KINDS[values["kind"]]
    said = {name: _id_of(value) for name, value in values.items() if name != "kind"}
    return kind(**said)


def _id_of(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(row.public_id for row in value)
    return value.public_id if isinstance(value, Owned) else value
