"""Moments by chance, others each time; the seed is printed, and can be set to have them again."""

import os
from secrets import randbelow

SEED = "COATWEAVE_SEED"


def a_seed() -> int:
    """Return a seed that is printed where a test fails."""
    seed = int(os.environ.get(SEED) or randbelow(1_000_000))
    print(f"{SEED}={seed}")  # noqa: T201 - to repeat a run that failed
    return seed
