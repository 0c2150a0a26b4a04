"""The text of a calendar entry."""

from typing import Any
from zoneinfo import ZoneInfo

from scheduling.visit_wording import visit_description, visit_title

DUBLIN = ZoneInfo("Europe/Dublin")

SETTING_COAT: dict[str, Any] = {
    "key": "1:tape",
    "stage": "tape",
    "room": "Hall",
    "area": "Ground floor",
    "job": "",
    "part": [1, 1],
    "person_minutes": 90,
    "compound": "Setting base, 45 min working",
    "hardening": "sets",
    "working_minutes": 45,
    "work": [
        {"part": "ceiling", "kind": "tapered", "quantity": 8.0, "unit": "m", "width_mm": 150},
        {
            "part": "walls",
            "kind": "butt",
            "quantity": 2.5,
            "unit": "m",
            "width_mm": 150,
            "width_least_mm": 120,
            "width_each_side": True,
        },
        {"part": "walls", "kind": "fasteners", "quantity": 120, "unit": "each", "width_mm": None},
    ],
    "material": {"litres": 4.0, "kg": 6.6, "powder_kg": 4.4, "water_l": 2.2, "tape_m": 10.5},
    "tools": ["mixer", "knife_150"],
    "cautions": ["alkaline_powder", "ladders"],
    "ready_at": "2026-03-02T11:00:00+00:00",
    "leaves": {"governs": "set", "air": "record"},
    "waits_on": {},
}
ODD_JOB: dict[str, Any] = {
    **SETTING_COAT,
    "key": "2:odd_job",
    "stage": "odd_job",
    "job": "Patch by the boiler",
    "room": "",
    "area": "",
    "compound": "",
    "working_minutes": 0,
    "work": [],
    "material": {"litres": 0, "kg": 0, "powder_kg": 0, "water_l": 0, "tape_m": 0},
    "tools": [],
    "cautions": [],
    "ready_at": None,
    "leaves": {"governs": "", "air": "record"},
}


def content(*tasks: dict[str, Any]) -> dict[str, Any]:
    return {
        "house": {"name": "Mill Cottage", "address": ""},
        "setup_minutes": 0,
        "washup_minutes": 0,
        "tasks": list(tasks),
    }


def test_a_setting_coat_in_full() -> None:
    expected = """\
Tape coat · Ground floor · Setting base, 45 min working (use up each mix within 45 min)
Widths: flat joints 150 mm, butt joints 120-150 mm to each side
- Hall, ceiling: flat joints 8 m
- Hall, walls: butt joints 2.5 m, fastener heads 120 pcs
  planned set Mon 2 Mar 11:00; do not touch until then

Work: 1.5 person-hours
Setting base, 45 min working: 4 L (6.6 kg) from 4.4 kg powder and 2.2 L water
Tape: 10.5 m
Bring: mixer and clean buckets, 150 mm knife

Cautions
- Setting powder is alkaline and gets warm as it sets: gloves and goggles while mixing, rinse \
skin and eyes with plenty of water.
- Work at height: firm footing, a tower or trestles in order and inspected, nobody alone.
These are the usual cautions. Local codes and licensed practice decide."""
    assert visit_description(content(SETTING_COAT), DUBLIN) == expected


def test_rooms_of_one_stage_stand_under_one_heading_and_material_is_summed() -> None:
    text = visit_description(content(SETTING_COAT, SETTING_COAT | {"room": "Kitchen"}), DUBLIN)
    assert text.count("Tape coat · Ground floor") == 1
    assert text.index("Hall, ceiling") < text.index("Kitchen, ceiling")
    assert "8 L (13.2 kg) from 8.8 kg powder and 4.4 L water" in text
    assert "Work: 3 person-hours" in text
    assert text.count("- Work at height") == 1
    assert text.count("Widths: flat joints 150 mm") == 1


def test_a_part_of_a_room_a_face_of_a_corner_and_work_for_tiles_say_so() -> None:
    line = {"part": "walls", "kind": "internal", "quantity": 5.2, "unit": "m", "width_mm": 100}
    work = [line | {"one_face": True, "for_tiles": True}]
    text = visit_description(content(SETTING_COAT | {"part": [2, 3], "work": work}), DUBLIN)
    assert "- Hall (part 2 of 3), walls: internal corners 5.2 m one face for tiles\n" in text


def test_an_odd_job_is_called_by_its_name() -> None:
    assert visit_title(content(ODD_JOB)) == "Mill Cottage: Patch by the boiler"
    text = visit_description(content(ODD_JOB), DUBLIN)
    assert text.startswith("Patch by the boiler\n\nWork: 1.5 person-hours")
    assert "Cautions" not in text


def test_titles_name_each_stage_and_area_once() -> None:
    other = SETTING_COAT | {"area": "Loft", "stage": "second"}
    tasks = content(SETTING_COAT, SETTING_COAT, other)
    assert visit_title(tasks) == "Mill Cottage: Tape coat, Second coat · Ground floor, Loft"
    assert visit_title(tasks, cancelled=True).startswith("CANCELLED: Mill Cottage: Tape coat")


def test_codes_without_words_do_not_stop_a_feed() -> None:
    odd = SETTING_COAT | {"stage": "varnish", "tools": ["tongs"], "cautions": ["bears"]}
    text = visit_description(content(odd), DUBLIN)
    for code in ("varnish", "tongs", "bears"):
        assert code in text


def test_what_a_visit_waits_on_is_said_once_for_the_last_room() -> None:
    def waiting(ready_at: str) -> dict[str, Any]:
        waits_on = {"other": "9:tape", "reason": "air", "ready_at": ready_at}
        return SETTING_COAT | {"stage": "second", "waits_on": waits_on}

    text = visit_description(
        content(waiting("2026-03-02T06:00:00+00:00"), waiting("2026-03-02T07:30:00+00:00")), DUBLIN
    )
    assert text.count("Waits for: Tape coat, ready Mon 2 Mar 07:30 by the air.") == 1
    assert "06:00" not in text
    assert text.count("Planned: check that it is dry before coating.") == 1


def test_hours_say_what_they_include() -> None:
    text = visit_description(
        {**content(ODD_JOB), "setup_minutes": 15, "washup_minutes": 10}, DUBLIN
    )
    assert "Hours include 15 min to set up and 10 min to wash up" in text
