"""What a house must offer before a stage can be done there."""

from finishing.rules.vocabulary import Readiness, Stage

ODD_JOB = "odd_job"
"""Work without joints; it stands beside the stages wherever a task's stage is stored."""

PUBLISHED_DAYS_AHEAD = 1
"""No work is published for today or so many days after it while a line that it needs is open."""

_OWED_TO_TOUCH_UPS = frozenset({Readiness.PRIMED, Readiness.TRADES_DONE})
_ORDINARY = frozenset(Readiness) - _OWED_TO_TOUCH_UPS


def needs(stage: str) -> frozenset[Readiness]:
    """Return the readiness lines that must be done before a stage starts.

    stage: a :class:`Stage` value or :data:`ODD_JOB`. Every stage needs the house boarded,
    inspected, closed up, serviced and open; the touch-ups also need those they come after. An
    odd job needs a way in and no more: which other line it hangs on, only its name could tell.
    Raises ValueError for a stage that does not exist. Common practice, no published source.
    """
    if stage == ODD_JOB:
        return frozenset({Readiness.WAY_IN})
    match Stage(stage):
        case Stage.PRIMER_TOUCH_UP:
            return _ORDINARY | {Readiness.PRIMED}
        case Stage.TRADES_TOUCH_UP:
            return _ORDINARY | {Readiness.TRADES_DONE}
        case _:
            return _ORDINARY
