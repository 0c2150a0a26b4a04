"""Finish levels that a company has to do with."""

from finishing.models import Company, Surface
from finishing.rules.levels import levels_of
from finishing.rules.vocabulary import Family

type Level = tuple[Family, str]


def level_code(family: str, level: str) -> str:
    """Return what ``Company.stages_off_by_level`` calls a level: "GA-214 2"."""
    return f"{family} {level}"


def levels_of_company(company: Company) -> list[Level]:
    """Return in order the levels of its family, those of its surfaces, and those with stages of
    their own, in one query."""
    surfaces = Surface.objects.filter(company=company).order_by()
    used = {level_code(*pair) for pair in surfaces.values_list("family", "level").distinct()}
    used |= company.stages_off_by_level.keys()
    return [
        (family, level)
        for family in Family
        for level in levels_of(family)
        if family == company.family or level_code(family, level) in used
    ]
