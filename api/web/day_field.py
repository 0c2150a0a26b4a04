"""A day as a person types or picks it."""

from datetime import date
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

FIRST, LAST = date(2000, 1, 1), date(2099, 12, 31)
UNLIKELY = _("This is not a day of this century: check the year.")


class DayField(forms.DateField):
    """A day of this century, with the browser's own picker."""

    default_validators = [MinValueValidator(FIRST, UNLIKELY), MaxValueValidator(LAST, UNLIKELY)]
    default_error_messages = {
        "required": _("Choose a day."),
        "invalid": _("This is not a day: write it as 2026-03-04."),
    }

    def __init__(self, **options: Any) -> None:
        picker = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(**{"widget": picker, "required": False, **options})
