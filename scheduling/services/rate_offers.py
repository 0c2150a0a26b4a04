"""A company's labour rates out of its crews' reports: offered, and taken or declined."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from finishing.models import Change, Company, User
from finishing.rules.reported_rates import LEAST_JOBS, RateEvidence, StageFactor, rate_evidence
from finishing.rules.vocabulary import Stage
from finishing.services.company_log import logged
from finishing.services.rates import RateKey, RateLine, edit_rates, own_rates
from finishing.services.rows import StaleRowsError, put_row
from scheduling.models import DeclinedRates
from scheduling.services.rate_jobs import present_rates, rate_jobs
from scheduling.services.reported_visits import reported_visits

LOOKED_BACK = timedelta(days=365)
"""Reports older than that are of other crews and other work."""


@dataclass(frozen=True)
class ChangedRate:
    """A rate as it is and as reports would have it: person-minutes per unit."""

    stage: str
    kind: str
    now: float
    reported: float


@dataclass(frozen=True)
class RateOffer:
    """What reports say of a stage. rates: those that the jobs worked with, which would change.
    declined: the office's no, while it holds."""

    stage: Stage
    found: StageFactor
    rates: tuple[ChangedRate, ...]
    declined: DeclinedRates | None

    @property
    def seen_as(self) -> str:
        """What tells this offer from one with more reports in it."""
        return f"{self.found.jobs}-{self.found.factor:.6f}"

    @property
    def is_open(self) -> bool:
        """Whether the office is asked: the rates differ, and it has not said no."""
        return self.found.differs and self.declined is None


@dataclass(frozen=True)
class RateOffers:
    """All that reports say of rates; ``evidence`` also of stages with too few jobs."""

    offers: tuple[RateOffer, ...]
    evidence: RateEvidence


def rate_offers(*, company: Company, now: datetime) -> RateOffers:
    """Return what the reports of the last year say of the company's rates; nothing changes."""
    present = present_rates(company)
    jobs = rate_jobs(reported_visits(company, now - LOOKED_BACK, now), present)
    evidence = rate_evidence(job.job for job in jobs)
    worked = sorted({key for job in jobs for key in job.rates})
    declined = {row.stage: row for row in DeclinedRates.objects.filter(company=company)}
    offers = (
        RateOffer(
            stage,
            found,
            tuple(_changed(key, present, found) for key in worked if key[0] == stage),
            _still_declined(declined.get(stage), found),
        )
        for stage, found in evidence.factors.items()
    )
    return RateOffers(tuple(offers), evidence)


@transaction.atomic
def take_rates(
    *, company: Company, stage: str, seen_as: str, by: User | None, now: datetime
) -> Sequence[ChangedRate]:
    """Put the rates of an offer in place of the present ones, as an edit of today like any other.

    Raises StaleRowsError where there is no such offer any more, or it says something else.
    """
    offer = _offer_as_seen(company, stage, seen_as, now)
    rows = own_rates(company)
    lines = [
        RateLine(
            place=f"{rate.stage}-{rate.kind}",
            stage=rate.stage,
            kind=rate.kind,
            minutes=rate.reported,
            source=_source(offer.found),
            dated=now.astimezone(ZoneInfo(company.zone)).date(),
            version=row.version if (row := rows.get((rate.stage, rate.kind))) else 0,
        )
        for rate in offer.rates
    ]
    with logged(company, (Change.What.RATE,), by=by, now=now):
        edit_rates(company=company, lines=lines)
    DeclinedRates.objects.filter(company=company, stage=stage).delete()
    return offer.rates


@transaction.atomic
def decline_rates(
    *, company: Company, stage: str, seen_as: str, by: User | None, now: datetime
) -> DeclinedRates:
    """Remember that the office does not want an offer; see :func:`take_rates` for what is raised.

    It is asked again once reports of ``LEAST_JOBS`` more jobs have come.
    """
    offer = _offer_as_seen(company, stage, seen_as, now)
    values = {
        "jobs": offer.found.jobs,
        "factor": offer.found.factor,
        "declined_at": now,
        "declined_by": by,
    }
    return put_row(DeclinedRates, match={"company": company, "stage": stage}, values=values)


def _offer_as_seen(company: Company, stage: str, seen_as: str, now: datetime) -> RateOffer:
    for offer in rate_offers(company=company, now=now).offers:
        if (offer.stage, offer.seen_as) == (stage, seen_as):
            return offer
    raise StaleRowsError([], gone=1)


def _still_declined(row: DeclinedRates | None, found: StageFactor) -> DeclinedRates | None:
    return row if row and found.jobs < row.jobs + LEAST_JOBS else None


def _changed(key: RateKey, present: dict[RateKey, float], found: StageFactor) -> ChangedRate:
    return ChangedRate(*key, now=present[key], reported=round(present[key] * found.factor, 4))


def _source(found: StageFactor) -> str:
    said = _("Our crews' reports: median of %(jobs)s jobs, spread %(spread)s %%")
    return said % {"jobs": found.jobs, "spread": round(100 * found.spread)}
