"""What crews' reports say of a company's labour rates.

A job is one visit: its people times the time they were at it, beside the person-minutes that the
present rates make of its work. A report covers all kinds of joints in a stage at once and cannot
tell them apart, so each stage has one factor for all its rates: the median of its jobs' ratios. A
job speaks for the stage that has at least ``SHARE_OF_STAGE`` of its expected time; one of mixed
stages speaks for none.

Medians stay where they are whatever a few jobs say (up to half of them may be anything: Huber,
Robust Statistics, chapter 1). The spread is the median absolute deviation times 1.4826, which of
normal errors is their standard deviation (same source). The limits are two of the ratios, by rank,
between which the median of such jobs lies in at least ``SURE`` of cases, whatever their
distribution: the sign test turned around (David and Nagaraja, Order Statistics, section 7.1). Both
sources from memory.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import comb, isfinite

import numpy as np

from finishing.rules.vocabulary import Stage

LEAST_JOBS = 5
"""Never is anything said from fewer jobs."""
SHARE_OF_STAGE = 0.8
SURE = 0.9
WORTH_AN_EDIT = 0.02
"""Rates are not known better than that; an assumption."""
NORMAL_MAD = 1.4826


@dataclass(frozen=True, slots=True)
class Job:
    """A visit that was reported from start to finish.

    visit: its id. actual: person-minutes that it took. expected: by stage, person-minutes by the
    present rates.
    """

    visit: str
    actual: float
    expected: Mapping[Stage, float]


@dataclass(frozen=True, slots=True)
class StageFactor:
    """How long a stage takes over what the present rates say: 1.1 is a tenth longer.

    spread: of single jobs, as a share of the factor. low, high: where the factor lies in at least
    ``SURE`` of cases. least, most: the ratios of the quickest and of the slowest job.
    """

    jobs: int
    factor: float
    spread: float
    low: float
    high: float
    least: float
    most: float

    @property
    def differs(self) -> bool:
        """Whether the present rates lie outside the limits, and by enough to be worth an edit."""
        return not self.low <= 1.0 <= self.high and abs(self.factor - 1.0) >= WORTH_AN_EDIT


@dataclass(frozen=True, slots=True)
class RateEvidence:
    """factors: of stages with enough jobs. too_few: jobs of the other stages. mixed: jobs that
    speak for no stage."""

    factors: Mapping[Stage, StageFactor]
    too_few: Mapping[Stage, int]
    mixed: int


class JobError(ValueError):
    """Jobs that cannot be; ``faults`` names each by its visit."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


def rate_evidence(jobs: Iterable[Job]) -> RateEvidence:
    """Return what jobs say of each stage. Raise :class:`JobError` for times that are none, and for
    a visit that comes twice: the same hours would count as two jobs."""
    jobs = list(jobs)
    if faults := _faults(jobs):
        raise JobError(faults)
    ratios: defaultdict[Stage, list[float]] = defaultdict(list)
    mixed = 0
    for job in jobs:
        expected = sum(job.expected.values())
        stage = max(job.expected, key=lambda one: (job.expected[one], one))
        if job.expected[stage] < SHARE_OF_STAGE * expected:
            mixed += 1
        else:
            ratios[stage].append(job.actual / expected)
    enough = {stage: of for stage, of in ratios.items() if len(of) >= LEAST_JOBS}
    return RateEvidence(
        factors={stage: stage_factor(enough[stage]) for stage in Stage if stage in enough},
        too_few={s: len(ratios[s]) for s in Stage if s in ratios and s not in enough},
        mixed=mixed,
    )


def stage_factor(ratios: Iterable[float]) -> StageFactor:
    """Return what the ratios of actual to expected time come to; at least ``LEAST_JOBS`` of them,
    or ValueError."""
    found = np.sort(np.fromiter(ratios, dtype=float))
    if len(found) < LEAST_JOBS:
        raise ValueError(f"{len(found)} jobs are fewer than {LEAST_JOBS}")
    factor = float(np.median(found))
    rank = limit_rank(len(found))
    return StageFactor(
        jobs=len(found),
        factor=factor,
        spread=NORMAL_MAD * float(np.median(np.abs(found - factor))) / factor,
        low=float(found[rank - 1]),
        high=float(found[-rank]),
        least=float(found[0]),
        most=float(found[-1]),
    )


def limit_rank(count: int) -> int:
    """Return the highest rank k, from 1, for which the median of what ``count`` values are drawn
    from lies between the k-th lowest and the k-th highest in at least ``SURE`` of cases; 1 where
    there is none."""
    outside, rank = 0.0, 0
    while 2 * rank < count:
        outside += 2 * comb(count, rank) / 2**count
        if outside > 1 - SURE:
            break
        rank += 1
    return max(rank, 1)


def _faults(jobs: list[Job]) -> list[str]:
    faults = []
    seen: set[str] = set()
    for job in jobs:
        if job.visit in seen:
            faults.append(f"visit {job.visit}: comes twice")
        seen.add(job.visit)
        if not (isfinite(job.actual) and job.actual > 0):
            faults.append(f"visit {job.visit}: took {job.actual} person-minutes")
        if not all(isfinite(m) and m >= 0 for m in job.expected.values()) or not any(
            job.expected.values()
        ):
            faults.append(f"visit {job.visit}: nothing it can be held against")
    return faults
