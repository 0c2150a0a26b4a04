"""A field that names a row, by its public id: one of the company's, and no other can be offered."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from finishing.models import Company, User
from finishing.models.owned import Owned


class RowField[R: Owned | User](forms.ChoiceField):
    """One of the rows offered. Its value is the row; None where none was chosen and none must be.

    Whoever offers rows says whose they are: a row of another company's would be an error of the
    program, and never a choice.
    """

    rows: Mapping[str, R] = {}

    def offer(self, company: Company, rows: Iterable[R], *, blank: Any = None) -> None:
        """Let one of some rows be chosen. blank: what choosing none is called; None for no such
        choice."""
        self.rows = {str(row.public_id): row for row in rows}
        if any(row.company_id != company.pk for row in self.rows.values()):
            raise ValueError("A row of another company was offered")
        none = [] if blank is None else [("", blank)]
        self.choices = [*none, *((key, str(row)) for key, row in self.rows.items())]

    def clean(self, value: Any) -> R | None:
        return self.rows.get(super().clean(value))


def offer[R: Owned | User](
    form: forms.Form, name: str, company: Company, rows: Iterable[R], *, blank: Any = None
) -> None:
    """Let one of some rows be chosen in a form's field; see ``RowField.offer``."""
    field = form.fields[name]
    assert isinstance(field, RowField)
    field.offer(company, rows, blank=blank)
