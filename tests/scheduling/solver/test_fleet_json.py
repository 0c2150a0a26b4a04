"""A fleet told to the child is the fleet that it hears."""

import json

from scheduling.solver.problem import ReadyCurve, constant_lag
from scheduling.solver.serialize import fleet_from_json, fleet_to_json
from scheduling.solver.stays import Beside, Dryer, Fleet


def test_nothing_is_lost_on_the_way() -> None:
    stepped = ReadyCurve((5, 9), (3, 2), (0, 11))
    fleet = Fleet(
        (Dryer("big", 2, 15), Dryer("small")),
        (
            Beside(("big",), {"air": constant_lag(4), "other": stepped}),
            Beside(("big", "small"), {"air": stepped}),
        ),
    )
    assert fleet_from_json(json.loads(json.dumps(fleet_to_json(fleet)))) == fleet
    assert fleet_from_json(json.loads(json.dumps(fleet_to_json(Fleet())))) == Fleet()
