"""Proposals side by side: a row for each figure, promise and visit, a cell for each proposal."""

from typing import Any
from zoneinfo import ZoneInfo

from scheduling.compared_wording import compared_figures, compared_handovers, compared_visits

ZONE = ZoneInfo("Europe/Berlin")
NOON, EVENING = "2026-03-02T11:00:00+00:00", "2026-03-02T16:00:00+00:00"


def span(crew: str, starts_at: str = NOON, ends_at: str = EVENING) -> dict[str, str]:
    return {"crew": crew, "zone": "Europe/Berlin", "starts_at": starts_at, "ends_at": ends_at}


def promise(house: str, after: str | None, late: int | None, **changed: Any) -> dict[str, Any]:
    row: dict[str, Any] = {
        "house": house,
        "areas": [],
        "due_on": "2026-03-02",
        "state": "planned",
        "before": NOON,
        "after": after,
        "late_before": 0,
        "late_after": late,
    }
    return row | changed


def move(crew: str, *to: dict[str, str], stages: tuple[str, ...] = ("tape",)) -> dict[str, Any]:
    return {"house": "Mill", "stages": list(stages), "from": span(crew), "to": list(to)}


def change(**changed: Any) -> dict[str, Any]:
    figures = {"visits_moved": 3, "crews_changed": 2, "largest_shift_hours": 4.5}
    whole = {
        "figures": figures,
        "soon": figures | {"visits_moved": 1},
        "new": 0,
        "dropped": 0,
        "travel_minutes": 90,
        "extra_minutes": 0,
        "told": {"idle_minutes": 30, "travel_minutes": 60, "extra_minutes": 120},
        "handovers": [],
        "moves": [],
    }
    return whole | changed


def test_a_promise_on_hold_counts_as_missed_like_a_late_one() -> None:
    """Before: only the attic. After: the hall is late, the mill on hold, the barn all done."""
    promises = [
        promise("Mill", None, 0, state="held"),
        promise("Hall", EVENING, 90),
        promise("Attic", NOON, 0, before=None),
        promise("Barn", None, 0, state="done", before=None),
        promise("Loft", NOON, 0, before=None, late_before=None),
    ]
    row = compared_figures([change(handovers=promises)], [0])[0]
    assert (row.name, row.before, row.after) == ("Handovers late or not planned", "1", ("2",))


def test_figures_stand_beside_those_of_what_is_published() -> None:
    rows = {row.name: row for row in compared_figures([change(), change(new=2)], [45, 600])}
    idle = rows["Idle hours within days"]
    assert (idle.before, idle.after) == ("0.5", ("0.8", "10"))
    extra = rows["Extra hours worked"]
    assert (extra.before, extra.after) == ("2", ("0", "0"))
    assert rows["Hours on the way"].after == ("1.5", "1.5")
    assert rows["New visits"].after == ("0", "2")
    assert rows["Visits to another day or crew (next 3 days)"].after == ("3 (1)", "3 (1)")


def test_proposals_of_before_extra_hours_were_kept_leave_their_cells_empty() -> None:
    old = change()
    del old["told"], old["extra_minutes"]
    extra = next(r for r in compared_figures([old], [0]) if r.name == "Extra hours worked")
    assert (extra.before, extra.after) == ("", ("",))


def test_a_promise_that_one_proposal_breaks_is_shown_for_all() -> None:
    kept = change(handovers=[promise("Mill", NOON, 0), promise("Quay", NOON, 0)])
    broken = change(handovers=[promise("Mill", EVENING, 300), promise("Quay", NOON, 0)])
    (row,) = compared_handovers([kept, broken], ZONE, {})
    assert row.name == "Mill, due Mon 2 Mar"
    assert row.before == row.after[0] == "Mon 2 Mar 12:00"
    assert row.after[1].startswith("Mon 2 Mar 17:00, ")
    assert (row.was_late, row.late) == (False, (False, True))


def test_work_that_is_done_or_has_no_place_says_so() -> None:
    done = change(handovers=[promise("Mill", None, None, state="done")])
    lost = change(handovers=[promise("Mill", None, None)])
    (row,) = compared_handovers([done, lost], ZONE, {})
    assert row.after == ("all done", "not planned")


def test_a_promise_that_nothing_keeps_is_shown_though_no_proposal_changes_it() -> None:
    held = change(handovers=[promise("Mill", None, None, before=None, state="held")])
    (row,) = compared_handovers([held], ZONE, {})
    assert (row.before, row.after, row.late) == ("not planned", ("not planned",), (True,))


def test_a_handover_is_told_by_the_clock_of_its_house() -> None:
    late = change(handovers=[promise("Mill", EVENING, 300)])
    (row,) = compared_handovers([late], ZONE, {"Mill": ZoneInfo("Pacific/Auckland")})
    assert row.before == "Tue 3 Mar 00:00"
    assert row.after[0].startswith("Tue 3 Mar 05:00, ")


def test_a_visit_that_one_proposal_moves_stays_in_the_other() -> None:
    moved = change(moves=[move("North", span("South"), span("Hill")), move("Hill")])
    (north, hill) = sorted(compared_visits([moved, change()]), key=lambda row: row.before)[::-1]
    assert north.before == "North Mon 2 Mar 12:00-17:00"
    assert north.after == ("South Mon 2 Mar 12:00-17:00; Hill Mon 2 Mar 12:00-17:00", "stays")
    assert hill.after == ("not planned", "stays")


def test_a_visit_names_all_that_any_proposal_takes_out_of_it() -> None:
    one = change(moves=[move("North", span("South"), stages=("tape",))])
    two = change(moves=[move("North", span("South"), stages=("tape", "second"))])
    (row,) = compared_visits([one, two])
    assert row.name == "Mill, Tape coat, Second coat"
