"""Costs in words: what they are made of, what has no price."""

from collections.abc import Iterable

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Company
from finishing.rules.costs import PARTS, UNPRICED_MATERIAL, Cost
from scheduling.compound_wording import SUPPLIES
from scheduling.money_wording import amount
from scheduling.price_wording import price_name
from scheduling.wording import listed

COST_PARTS = {
    "labour": _("Hours on site"),
    "extra": _("Extra hours"),
    "travel": _("On the way"),
    "material": _("Material"),
    "dryers": _("Dryers"),
    "late": _("Late days"),
}


def part_names() -> list[str]:
    """Return what the parts of a cost are called, in their order, and their sum."""
    return [*(str(COST_PARTS[part]) for part in PARTS), gettext("In all")]


def part_amounts(cost: Cost, company: Company) -> list[str]:
    """Return the parts of a cost in the same order, and their sum."""
    return [*(amount(getattr(cost, part), company) for part in PARTS), amount(cost.total, company)]


def unpriced_sentence(codes: Iterable[str]) -> str:
    """Say what counts as nothing since it has no price; "" where all has one."""
    found = sorted(codes)
    if not found:
        return ""
    names = [_unpriced_name(code) for code in found]
    return gettext("Without a price, so not counted: %(what)s.") % {"what": listed(names)}


def _unpriced_name(code: str) -> str:
    if code in SUPPLIES:
        return str(SUPPLIES[code])
    kind, _colon, name = code.partition(":")
    return (name or gettext("material")) if kind == UNPRICED_MATERIAL else price_name(code)
