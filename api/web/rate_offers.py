"""What crews' reports say of the labour rates, as the office reads it, takes it or declines it."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from finishing.models import Company
from finishing.rules.labour import DEFAULT_RATES
from finishing.rules.reported_rates import LEAST_JOBS, StageFactor
from finishing.rules.vocabulary import JointKind, Stage
from scheduling.services.rate_offers import ChangedRate, RateOffer, rate_offers
from scheduling.wording import day, figure, joint_name, stage_name

UNITS = {(rate.stage, rate.kind): rate.per for rate in DEFAULT_RATES}


@dataclass(frozen=True)
class RateLine:
    """A rate that would change."""

    what: str
    now: str
    reported: str


@dataclass(frozen=True)
class OfferLine:
    """What reports say of a stage. asks: whether the office is to answer; declined: that it said
    no, and when it is asked again."""

    code: str
    seen_as: str
    stage: str
    jobs: int
    says: str
    spread: str
    extremes: str
    rates: list[RateLine]
    differs: bool
    asks: bool
    declined: str


@dataclass(frozen=True)
class OffersPart:
    """too_few: stages with fewer jobs than it takes; mixed: of jobs that speak for no stage."""

    lines: list[OfferLine]
    too_few: str
    mixed: int


def offers_part(company: Company, now: datetime) -> OffersPart:
    """Return what reports say of a company's rates."""
    found = rate_offers(company=company, now=now)
    few = (
        _("%(stage)s %(jobs)s of %(least)s")
        % {"stage": stage_name(stage), "jobs": jobs, "least": LEAST_JOBS}
        for stage, jobs in found.evidence.too_few.items()
    )
    zone = ZoneInfo(company.zone)
    lines = [_line(offer, zone) for offer in found.offers]
    return OffersPart(lines, ", ".join(few), found.evidence.mixed)


def _line(offer: RateOffer, zone: ZoneInfo) -> OfferLine:
    found = offer.found
    return OfferLine(
        code=offer.stage,
        seen_as=offer.seen_as,
        stage=stage_name(offer.stage),
        jobs=found.jobs,
        says=_says(found),
        spread=_("%(percent)s %%") % {"percent": figure(100 * found.spread)},
        extremes=_("%(least)s to %(most)s %%")
        % {"least": _percent(found.least), "most": _percent(found.most)},
        rates=[_rate(rate) for rate in offer.rates],
        differs=found.differs,
        asks=offer.is_open,
        declined=_declined(offer, zone),
    )


def _says(found: StageFactor) -> str:
    values = {
        "factor": _percent(found.factor),
        "low": _percent(found.low),
        "high": _percent(found.high),
    }
    return _("%(factor)s %%, between %(low)s and %(high)s %% in 9 of 10") % values


def _percent(ratio: float) -> str:
    return figure(round(100 * ratio))


def _rate(rate: ChangedRate) -> RateLine:
    per = {"m": "m", "m2": "m²", "each": _("piece")}[UNITS[Stage(rate.stage), JointKind(rate.kind)]]
    return RateLine(
        what=_("%(kind)s, minutes per %(unit)s") % {"kind": joint_name(rate.kind), "unit": per},
        now=_minutes(rate.now),
        reported=_minutes(rate.reported),
    )


def _declined(offer: RateOffer, zone: ZoneInfo) -> str:
    row = offer.declined
    if row is None:
        return ""
    said = _("Declined on %(day)s; you are asked again from %(jobs)s jobs on.")
    on = day(row.declined_at.astimezone(zone).date())
    return said % {"day": on, "jobs": row.jobs + LEAST_JOBS}


def _minutes(minutes: float) -> str:
    """Return minutes with three digits that count, the zeros in front not among them."""
    return f"{minutes:.3g}"
