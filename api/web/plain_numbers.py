"""Fields for numbers that are written out: Python itself would read "1_0" as ten."""

from typing import Any

from django import forms

from finishing.services.typed_numbers import number_of


class _WrittenOut(forms.Field):
    def to_python(self, value: Any) -> Any:
        """Read what was typed, where a person would call it a number or it is blank."""
        typed = str("" if value is None else value).strip()
        try:
            if typed:
                number_of(typed)
        except ValueError:
            said = self.error_messages["invalid"]
            raise forms.ValidationError(said, code="invalid") from None
        return super().to_python(typed)


class PlainNumber(_WrittenOut, forms.FloatField):
    """A decimal number, with a point."""


class PlainCount(_WrittenOut, forms.IntegerField):
    """A whole number."""
