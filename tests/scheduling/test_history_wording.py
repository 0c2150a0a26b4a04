"""What has happened in a house, in words."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from finishing.models import Change
from scheduling.history_wording import change_sentence

ZONE = ZoneInfo("Europe/Dublin")


def said(kind: str, what: str, place: str = "", **fields: Any) -> str:
    return change_sentence(Change(kind=kind, what=what, place=place, fields=fields), ZONE)


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        (
            said("changed", "house", heating=["unheated", "heated"], setpoint_c=[None, 19.5]),
            "The house: Heating heated instead of not heated; Held at, °C 19.5 instead of nothing",
        ),
        (
            said("changed", "readiness", "way_in", done=[True, False]),
            "Before work can start: way in: open again",
        ),
        (
            said("made", "odd_job", "Patch", name=[None, "Patch"], person_minutes=[None, 150]),
            "Odd job Patch, new (Person-hours: 2.5)",
        ),
        (
            said("changed", "coat_done", "Loft", ended_at=[None, "2026-07-01T14:30:00+00:00"]),
            "Done before in Loft: Ended Wed 1 Jul 15:30 instead of nothing",
        ),
        (
            said("removed", "closure", "Loft", first_day=["2026-03-02", None]),
            "Closure of Loft, removed (First day: Mon 2 Mar)",
        ),
        (
            said("changed", "room", "Loft, Hall", ceiling_shape=["flat", "sloped"]),
            "Room Loft, Hall: Ceiling shape sloped instead of flat",
        ),
        (
            said("changed", "surface", "Loft, Hall, walls", tapered=[None, 12.5], level=["4", "5"]),
            "Surface Loft, Hall, walls: Flat joints 12.5 instead of nothing; Level 5 instead of 4",
        ),
    ],
)
def test_edits_are_said_in_words(sentence: str, expected: str) -> None:
    assert sentence == expected


def test_codes_are_told_in_the_words_of_the_forms() -> None:
    room = said("changed", "room", edge=["cornice", "square_set"])
    assert "taped corner instead of cornice" in room
    surface = said("changed", "surface", takeoff=["rough", "measured"])
    assert "measured instead of rough, from m² until measured" in surface
    house = said("changed", "house", corner_tool=["flat_knife", "corner_tool"])
    assert "corner tool: both faces at once instead of flat knife" in house
