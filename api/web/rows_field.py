"""A field that names some rows, by their public ids: of those offered, and no others."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from finishing.models import Company
from finishing.models.owned import Owned


class RowsField[R: Owned](forms.MultipleChoiceField):
    """Some of the rows offered, each to be ticked. Its value is the rows."""

    widget = forms.CheckboxSelectMultiple
    rows: Mapping[str, R] = {}

    def __init__(self, **options: Any) -> None:
        unknown = _("One of these is not known any more: choose others.")
        super().__init__(**{"error_messages": {"invalid_choice": unknown}, **options})

    def offer(self, company: Company, rows: Iterable[R]) -> None:
        """Let some of these rows be chosen; see ``RowField.offer``."""
        self.rows = {str(row.public_id): row for row in rows}
        if any(row.company_id != company.pk for row in self.rows.values()):
            raise ValueError("A row of another company was offered")
        self.choices = [(key, str(row)) for key, row in self.rows.items()]

    def clean(self, value: Any) -> list[R]:
        return [self.rows[key] for key in super().clean(value)]
