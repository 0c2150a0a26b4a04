"""The method against real air it has not seen; ``tests.bench.odds`` does it at full length."""

import numpy as np

from tests.held_back import FORTNIGHT, RUN_DAYS, STATIONS, cases, station_year, without


def test_dates_that_hold_in_eight_of_ten_do_so_in_seven_to_nine() -> None:
    found = [c for name in STATIONS for c in cases(name, held_back=1, histories=100)]
    assert len(found) >= 100
    assert 0.70 <= np.mean([case.held_to_the_day for case in found]) <= 0.90


def test_no_day_of_a_held_back_fortnight_can_be_drawn() -> None:
    record = station_year("JFK")[0]
    first = FORTNIGHT * 5
    rest = without(record, 1, first).whole_days()
    fortnights = np.arange(len(rest)) // FORTNIGHT
    assert not rest[fortnights % 2 == 1].any()
    assert not rest[first : first + RUN_DAYS].any()  # the case goes on into the next one
    assert rest[fortnights == 8].all()
