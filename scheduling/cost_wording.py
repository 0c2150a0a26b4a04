"""Costs in words: what they are made of, what has no price."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Company
from finishing.rules.costs import PART_OF, PARTS, Cost
from scheduling.compound_wording import SUPPLIES
from scheduling.models import Plan
from scheduling.money_wording import amount
from scheduling.price_wording import price_name
from scheduling.wording import day, listed

NO_AMOUNT = "\N{EN DASH}"
COST_PARTS = {
    "labour": _("Hours on site"),
    "extra": _("Extra hours"),
    "travel": _("On the way"),
    "material": _("Material"),
    "dryers": _("Dryers"),
    "late": _("Late days"),
}


@dataclass(frozen=True)
class Unpriced:
    """What counts as nothing since it has no price, "" for nothing: beside the prices of hours,
    ways and late days, and beside those of packs."""

    prices: str
    packs: str


def part_names() -> list[str]:
    """Return what the parts of a cost are called, in their order, and their sum."""
    return [*(str(COST_PARTS[part]) for part in PARTS), gettext("In all")]


def part_amounts(
    cost: Cost, company: Company, *, left_out: frozenset[str] = frozenset()
) -> list[str]:
    """Return the parts of a cost in the same order, and their sum; a dash for what would be
    nothing only since it has no price, or is left out."""
    unknown = cost.unpriced_parts | left_out
    parts = [
        known_amount(getattr(cost, part), company, known=part not in unknown) for part in PARTS
    ]
    return [*parts, known_amount(cost.total, company, known=not unknown)]


def known_amount(minor: int, company: Company, *, known: bool) -> str:
    """Return an amount; a dash for nothing that is not known to be nothing."""
    return amount(minor, company) if minor or known else NO_AMOUNT


def amount_since(minor: int, since: date, company: Company) -> str:
    """Return an amount with the day from which on it holds."""
    values = {"amount": amount(minor, company), "day": day(since)}
    return gettext("%(amount)s from %(day)s") % values


def unpriced_of(codes: Iterable[str]) -> Unpriced:
    """Say what counts as nothing since it has no price (see ``Cost.unpriced``)."""
    found = sorted(codes)
    priced_alone = [_in_a_sentence(price_name(code)) for code in found if code in PART_OF]
    in_packs = [_pack_name(code) for code in found if code not in PART_OF]
    return Unpriced(_not_counted(priced_alone), _not_counted(in_packs))


def left_out_of(plan: Plan, *, house_id: str = "") -> str:
    """Say of which houses (or of the one) a plan has work without a place, so that no cost of it
    is counted; "" for none."""
    houses = held_houses(plan, house_id=house_id)
    if not houses:
        return ""
    said = gettext("Work without a place in the plan, so in none of these costs: %(houses)s.")
    return said % {"houses": listed(houses)}


def held_houses(plan: Plan, *, house_id: str = "") -> list[str]:
    """Return the names of the houses (or of the one) with work that a plan has no place for."""
    held = (hold["house"] for hold in plan.holds if house_id in {"", hold["house_id"]})
    return sorted(set(held))


def _not_counted(names: list[str]) -> str:
    if not names:
        return ""
    return gettext("Without a price, so not counted: %(what)s.") % {"what": listed(names)}


def _in_a_sentence(name: str) -> str:
    return name[:1].lower() + name[1:]


def _pack_name(code: str) -> str:
    if code in SUPPLIES:
        return str(SUPPLIES[code])
    return code.partition(":")[2] or gettext("compound")
