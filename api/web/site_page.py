"""The page of a house as it is on site: readiness, closures, and what the house is like."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from api.web.closures_form import ClosuresGroup
from api.web.facts_form import FactsGroup
from api.web.form_group import FormGroup
from api.web.readiness_form import ReadinessGroup
from finishing.models import Company, House
from finishing.queries.houses import flames_brought
from finishing.rules.cautions import Caution
from scheduling.cautions_wording import caution_text, defer_text
from scheduling.queries.edits import is_edited_since
from scheduling.queries.plans import working_plan

GROUPS: Mapping[str, type[FormGroup]] = {
    "readiness": ReadinessGroup,
    "closures": ClosuresGroup,
    "facts": FactsGroup,
}


@dataclass(frozen=True)
class SitePage:
    """All that the page shows. wrong: the section whose faults stand on top, if any."""

    house: House
    readiness: FormGroup
    closures: FormGroup
    facts: FormGroup
    wrong: FormGroup | None
    is_edited_since: bool
    has_flame_brought: bool
    cautions: Mapping[str, str]
    saved: str


def site_page(
    company: Company, house: House, *, wrong: FormGroup | None = None, saved: str = ""
) -> SitePage:
    """Return the page of a company's house in a fixed number of queries.

    wrong: the section that was sent and could not be kept. saved: the name of one that was.
    """
    sections = {
        name: wrong if isinstance(wrong, group) else group(house) for name, group in GROUPS.items()
    }
    return SitePage(
        house=house,
        **sections,
        wrong=wrong,
        is_edited_since=is_edited_since(working_plan(company), house),
        has_flame_brought=flames_brought(house).exists(),
        cautions=_cautions(),
        saved=_("Saved.") if saved in GROUPS else "",
    )


def _cautions() -> dict[str, str]:
    shown = {
        "flame_heater": Caution.HEATER_CO,
        "fire_rated": Caution.FIRE_RATED,
        "old_joints": Caution.ASBESTOS_OLD_JOINTS,
    }
    return {name: f"{caution_text(code)} {defer_text()}" for name, code in shown.items()}
