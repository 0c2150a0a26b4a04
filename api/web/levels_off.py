"""Work that is left off at a finish level: a box for each stage, a fold for each level."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.text import slugify
from django.utils.translation import gettext as _

from api.web.room_form import level_text
from finishing.models import Company
from finishing.queries.levels import level_code, levels_of_company
from finishing.rules.vocabulary import Stage
from scheduling.wording import listed, stage_name


@dataclass(frozen=True)
class LevelOff:
    """A level's fold on the page. said: what it says closed."""

    field: forms.BoundField
    said: str
    is_open: bool


def off_fields(company: Company) -> dict[str, forms.MultipleChoiceField]:
    """Return a field for each level of a company's, by its code as the settings have it."""
    return {
        level_code(family, level): forms.MultipleChoiceField(
            label=_("Left off at level %(level)s") % {"level": level_text(family, level)},
            choices=[(stage.value, stage_name(stage)) for stage in Stage],
            widget=forms.CheckboxSelectMultiple,
            required=False,
        )
        for family, level in levels_of_company(company)
    }


def field_name_of(code: str) -> str:
    """Return what the field of a level is called, without spaces: it is the boxes' id too."""
    return f"off_{slugify(code)}"


def folds(form: forms.Form, codes: Iterable[str]) -> list[LevelOff]:
    """Return the folds of a form; open are those that leave something off, or are wrong."""
    found = []
    for code in codes:
        field = form[field_name_of(code)]
        words = stages_said(field.value() or [])
        is_open = bool(words or field.errors)
        found.append(LevelOff(field, f"{field.label}: {words or _('nothing')}", is_open))
    return found


def off_by_level(form: forms.Form, codes: Iterable[str]) -> dict[str, list[str]]:
    """Take what is left off by level out of a form's cleaned data."""
    typed = {code: form.cleaned_data.pop(field_name_of(code), []) for code in codes}
    return {
        code: [stage.value for stage in Stage if stage in ticked]
        for code, ticked in typed.items()
        if ticked
    }


def off_said(off: Mapping[str, Sequence[Any]]) -> str:
    """Return in words what is left off at which level; "" for nothing."""
    return "; ".join(f"{code}: {stages_said(stages)}" for code, stages in off.items())


def stages_said(codes: Sequence[Any]) -> str:
    return listed([stage_name(str(code)) for code in codes])
