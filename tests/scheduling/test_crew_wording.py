"""A crew's week in words."""

from datetime import time

from scheduling.crew_wording import week_in_words

MORNING, AFTERNOON = (time(7), time(12)), (time(12, 30), time(15, 30))


def test_days_in_a_row_with_the_same_hours_are_said_together() -> None:
    hours = [(day, *span) for day in range(4) for span in (MORNING, AFTERNOON)]
    hours += [(4, *MORNING), (6, *MORNING)]
    assert week_in_words(hours) == (
        "Mon-Thu 07:00-12:00, 12:30-15:30; Fri 07:00-12:00; Sun 07:00-12:00"
    )


def test_no_hours_are_no_words() -> None:
    assert week_in_words([]) == ""
