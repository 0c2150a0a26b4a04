"""What somebody touched on a page: what was sent, told apart from what the page had shown.

A page carries along what each field showed. Of three states of a field - shown, sent and now - the
one now stands where sent is as shown; what was sent stands where now is as shown; and where both
differ, from each other too, two people changed the same thing, which is a clash.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.choices import flatten_choices
from django.utils.translation import gettext

from scheduling.wording import day, listed

WHOLE_ROW = ("remove", "reset")
"""Ticks that do away with a row, whatever anybody typed in its fields."""


@dataclass(frozen=True)
class Clash:
    """A field that somebody else changed too. name: as in the data; now, typed: in words."""

    name: str
    field: str
    now: str
    typed: str

    def __str__(self) -> str:
        said = gettext("%(field)s: it is now “%(now)s”, you typed “%(typed)s”")
        return said % {"field": self.field, "now": self.now, "typed": self.typed}


def is_from_a_page(form: forms.Form) -> bool:
    """Return whether what the page had shown came along with what was sent."""
    return any(bound.html_initial_name in form.data for bound in _carried(form))


def clashes(form: forms.Form) -> list[Clash]:
    """Return the fields that were touched and that somebody else changed otherwise meanwhile."""
    return [
        _clash(form, bound, _typed(bound), _now(bound))
        for bound in _carried(form)
        if is_from_a_page(form)
        if sorted(_typed(bound)) != sorted(_now(bound))
        if _is_touched(bound) and sorted(_shown(bound)) != sorted(_now(bound))
    ]


def is_touched(form: forms.Form, names: Iterable[str]) -> bool:
    """Return whether what was sent of any of these fields is not what the page had shown."""
    return any(_is_touched(form[name]) for name in names)


def does_away(form: forms.Form) -> bool:
    """Return whether a whole row is to go, so that it matters what anybody changed in it."""
    return any(_typed(bound) for bound in _carried(form) if bound.name in WHOLE_ROW)


def bring_up_to_now(form: forms.Form, data: QueryDict) -> None:
    """Make data, which the form is of, as if sent from a page that had been opened just now."""
    from_a_page = is_from_a_page(form)
    for bound in [form[name] for name in form.fields]:
        if bound.field.show_hidden_initial:
            if from_a_page and not _is_touched(bound):
                _put(data, bound, bound.html_name)
            _put(data, bound, bound.html_initial_name)
        elif bound.is_hidden and bound.html_name in data:
            _put(data, bound, bound.html_name)


def is_as_shown(data: QueryDict, prefix: str) -> bool:
    """Return whether nobody touched a line that has no form any more."""
    names = [name for name in data if name.startswith(f"initial-{prefix}-")]
    return bool(names) and all(
        _plain(data.getlist(name)) == _plain(data.getlist(name.removeprefix("initial-")))
        for name in names
    )


def _plain(values: list[str]) -> list[str]:
    """Return what was sent of a field, a tick sent and one carried along as the same."""
    return sorted(
        {"True": "on"}.get(value, value) for value in values if value not in {"", "False"}
    )


def _carried(form: forms.Form) -> Iterator[BoundField]:
    bounds = (form[name] for name in form.fields)
    return (bound for bound in bounds if bound.field.show_hidden_initial)


def _is_touched(bound: BoundField) -> bool:
    return sorted(_typed(bound)) != sorted(_shown(bound))


def _typed(bound: BoundField) -> list[str]:
    return _sent(bound, bound.html_name)


def _shown(bound: BoundField) -> list[str]:
    return _sent(bound, bound.html_initial_name)


def _sent(bound: BoundField, name: str) -> list[str]:
    if isinstance(bound.field.widget, forms.CheckboxInput):
        return (
            ["on"]
            if bound.field.widget.value_from_datadict(bound.form.data, bound.form.files, name)
            else []
        )
    data = bound.form.data
    assert isinstance(data, QueryDict)
    return _texts(data.getlist(name))


def _now(bound: BoundField) -> list[str]:
    value = bound.field.prepare_value(bound.initial)
    if isinstance(value, bool):
        return ["on"] if value else []
    return _texts(value if isinstance(value, list | tuple) else [value])


def _texts(values: Any) -> list[str]:
    """Return values as a browser sends them, without those that are blank."""
    said = ["" if value is None else str(value) for value in values]
    return [text for one in said if (text := one.replace("\r\n", "\n").strip())]


def _put(data: QueryDict, bound: BoundField, name: str) -> None:
    """Put in what a field says now; a blank text is sent, of several choices none is not."""
    is_one = not isinstance(bound.field, forms.MultipleChoiceField)
    data.setlist(name, _now(bound) or [""] * is_one)


def _clash(form: forms.Form, bound: BoundField, typed: list[str], now: list[str]) -> Clash:
    legend = getattr(form, "legend", lambda: "")()
    place = ", ".join(str(part) for part in (legend, bound.label) if part)
    return Clash(bound.html_name, place, _words(bound, now), _words(bound, typed))


def _words(bound: BoundField, texts: list[str]) -> str:
    """Return what a field says as a person reads it."""
    if isinstance(bound.field, forms.BooleanField):
        return gettext("ticked") if texts else gettext("not ticked")
    if isinstance(bound.field, forms.ChoiceField):
        names: dict[Any, Any] = dict(flatten_choices(bound.field.widget.choices))
        texts = [str(names.get(text, text)) for text in texts or [""]]
    elif isinstance(bound.field, forms.DateField):
        texts = [_day(text) for text in texts]
    return listed(texts) or gettext("nothing")


def _day(text: str) -> str:
    """Return a day in words; what is none, as it was typed."""
    try:
        return day(text)
    except ValueError:
        return text
