"""Rates from reports: figures from outside, and what holds for any list of jobs."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import NormalDist, median

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from finishing.rules.reported_rates import (
    LEAST_JOBS,
    NORMAL_MAD,
    Job,
    JobError,
    limit_rank,
    rate_evidence,
    stage_factor,
)
from finishing.rules.vocabulary import Stage

RATIOS = st.lists(st.floats(0.05, 20), min_size=LEAST_JOBS, max_size=40)


def jobs_of(ratios: Sequence[float], stage: Stage = Stage.TAPE) -> list[Job]:
    return [Job(str(n), 100 * ratio, {stage: 100.0}) for n, ratio in enumerate(ratios)]


class TestAgainstOutsideFigures:
    def test_median_absolute_deviation_of_a_textbook_example(self) -> None:
        """1, 1, 2, 2, 4, 6, 9: median 2, deviations 1, 1, 0, 0, 2, 4, 7, their median 1 (a common
        worked example of the median absolute deviation, from memory)."""
        found = stage_factor([1, 1, 2, 2, 4, 6, 9])
        assert found.factor == 2
        assert found.spread == pytest.approx(NORMAL_MAD * 1 / 2)

    @pytest.mark.parametrize(("count", "rank"), [(5, 1), (8, 2), (10, 2), (11, 3), (20, 6)])
    def test_ranks_of_the_sign_test(self, count: int, rank: int) -> None:
        """Two-sided 10 % points of the sign test, one more than its critical values of 0, 1, 1, 2
        and 5 (printed tables of the sign test, from memory)."""
        assert limit_rank(count) == rank

    @given(RATIOS)
    def test_the_median_is_that_of_the_standard_library(self, ratios: list[float]) -> None:
        assert stage_factor(ratios).factor == pytest.approx(median(ratios))

    def test_the_constant_makes_it_the_standard_deviation_of_a_normal_distribution(self) -> None:
        """Quantiles of the normal distribution from the standard library stand for draws."""
        normal = NormalDist(mu=1.0, sigma=0.1)
        found = stage_factor(normal.inv_cdf((n + 0.5) / 2001) for n in range(2001))
        assert found.spread * found.factor == pytest.approx(0.1, rel=2e-3)


class TestAnyJobs:
    @given(RATIOS, st.floats(0.1, 10))
    def test_all_times_longer_makes_the_factor_as_much_longer(
        self, ratios: list[float], times: float
    ) -> None:
        one, other = stage_factor(ratios), stage_factor(times * ratio for ratio in ratios)
        for name in ("factor", "low", "high", "least", "most"):
            assert getattr(other, name) == pytest.approx(times * getattr(one, name))
        assert other.spread == pytest.approx(one.spread, abs=1e-9)

    @given(
        st.lists(st.floats(0.5, 2), min_size=4, max_size=40),
        st.lists(st.floats(1e-3, 1e3), max_size=10),
    )
    def test_a_fifth_of_wild_jobs_leaves_it_among_the_middle_of_the_others(
        self, honest: list[float], wild: list[float]
    ) -> None:
        """With a fifth of n values replaced the median has rank 0.3 to 0.5 of n, of the honest
        four fifths: between their 3/8 and 5/8 quantiles, one rank wider for rounding."""
        wild = wild[: len(honest) // 4]
        assume(len(honest) + len(wild) >= LEAST_JOBS)
        ordered, shift = sorted(honest), (len(wild) + 1) // 2
        low = ordered[max((len(ordered) - 1) // 2 - shift, 0)]
        high = ordered[min(len(ordered) // 2 + shift, len(ordered) - 1)]
        assert low <= stage_factor([*honest, *wild]).factor <= high

    @given(RATIOS)
    def test_limits_and_extremes_lie_around_the_factor(self, ratios: list[float]) -> None:
        found = stage_factor(ratios)
        assert found.least <= found.low <= found.factor <= found.high <= found.most

    @given(st.integers(1, 400))
    def test_limits_are_the_narrowest_that_are_sure_enough(self, count: int) -> None:
        """Counted with fractions from Pascal's triangle, row by row."""
        row = [1]
        for _ in range(count):
            row = [1, *(a + b for a, b in pairwise(row)), 1]

        def sure(rank: int) -> Fraction:
            return 1 - Fraction(2 * sum(row[:rank]), 2**count)

        rank = limit_rank(count)
        assert rank == 1 or sure(rank) >= Fraction(9, 10)
        assert sure(rank + 1) < Fraction(9, 10)

    @given(st.permutations([0.8, 1.0, 1.1, 1.3, 2.0, 0.9]))
    def test_the_order_of_jobs_says_nothing(self, ratios: list[float]) -> None:
        assert rate_evidence(jobs_of(ratios)) == rate_evidence(jobs_of(sorted(ratios)))


class TestWhichJobsSpeak:
    def test_four_jobs_say_nothing_and_are_counted(self) -> None:
        found = rate_evidence(jobs_of([2.0] * 4))
        assert (found.factors, found.too_few) == ({}, {Stage.TAPE: 4})

    def test_five_jobs_do(self) -> None:
        found = rate_evidence(jobs_of([1.1, 1.2, 1.3, 1.2, 9.0])).factors[Stage.TAPE]
        assert found.jobs == 5
        assert found.factor == pytest.approx(1.2)
        assert found.differs

    def test_a_hundredth_is_not_worth_an_edit(self) -> None:
        assert not stage_factor([1.01] * 5).differs
        assert stage_factor([1.03] * 5).differs

    def test_one_visit_is_one_job_however_often_it_comes(self) -> None:
        with pytest.raises(JobError, match="visit a: comes twice"):
            rate_evidence([Job("a", 50, {Stage.TAPE: 50})] * 5)

    def test_a_job_speaks_for_the_stage_with_four_fifths_of_its_time_or_for_none(self) -> None:
        mostly = {Stage.TAPE: 80.0, Stage.SECOND: 20.0}
        mixed = {Stage.TAPE: 79.0, Stage.SECOND: 21.0}
        jobs = [Job(f"m{n}", 150, mostly) for n in range(5)]
        found = rate_evidence([*jobs, Job("x", 150, mixed)])
        assert found.factors[Stage.TAPE].factor == pytest.approx(1.5)
        assert found.mixed == 1

    def test_all_that_cannot_be_is_named_at_once(self) -> None:
        jobs = [
            Job("a", 0, {Stage.TAPE: 1}),
            Job("b", float("nan"), {Stage.TAPE: 1}),
            Job("c", 5, {}),
            Job("d", 5, {Stage.TAPE: 0.0}),
        ]
        with pytest.raises(JobError) as raised:
            rate_evidence(jobs)
        assert [fault.split(":")[0] for fault in raised.value.faults] == [
            "visit a",
            "visit b",
            "visit c",
            "visit d",
        ]

    def test_no_jobs(self) -> None:
        found = rate_evidence([])
        assert (found.factors, found.too_few, found.mixed) == ({}, {}, 0)
