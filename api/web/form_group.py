"""Small forms that are saved together: all faults at once, nothing typed is lost."""

from abc import ABC, abstractmethod
from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.translation import gettext, ngettext

from api.web.house_edits import typed_version
from api.web.touched import Clash, bring_up_to_now, clashes, does_away, is_as_shown, is_from_a_page
from finishing.models import Change, Company, House, User
from finishing.models.owned import Row
from finishing.services.company_log import logged
from finishing.services.errors import Fault, InputFaults
from finishing.services.rows import StaleRowsError


class VersionField(forms.CharField):
    """The version of a row that was looked at; 0, which no row has, where it is none."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> int:
        return typed_version(value)

    def has_changed(self, initial: Any, data: Any) -> bool:  # noqa: ARG002
        """Nobody types it: a line of which nothing else was typed is blank."""
        return False


class VersionedForm(forms.Form):
    """A form of a row; ``version`` is the one that was looked at, 0 where there was no row.

    What each field shows is carried along, so that only what somebody touched is written.
    """

    version = VersionField()

    def __getitem__(self, name: str) -> BoundField:
        """Return a field as the page has it; fields may be added after the form is made."""
        field = self.fields.get(name)
        if field is not None:
            is_shown = not isinstance(field.widget, forms.PasswordInput)
            field.show_hidden_initial = is_shown and not field.widget.is_hidden
        return super().__getitem__(name)


@dataclass(frozen=True)
class ShownFault:
    """A fault in the summary on top. field: the id of the field it links to; "" for none."""

    field: str
    label: str
    text: str


class FormGroup(ABC):
    """The forms of one section of a page. stale: what somebody else changed meanwhile, in words.

    data: what was sent; None to show the rows as they are. A subclass knows whose rows they are
    before it calls this constructor, which builds the forms.
    """

    def __init__(self, data: QueryDict | None = None) -> None:
        self.data = data if data is None else data.copy()
        self.stale: list[str] = []
        self.forms: list[forms.Form] = self.build()
        self.clashes = self._clashes()

    @abstractmethod
    def build(self) -> list[forms.Form]:
        """Return the forms, one for each row as it is now and for what may be added."""

    @abstractmethod
    def check(self) -> Iterable[Fault]:
        """Yield what does not fit together among the forms that are in order so far."""

    @abstractmethod
    def save(self, by: User, now: datetime) -> None:
        """Call the service."""

    def logged(self, by: User, now: datetime) -> AbstractContextManager[None]:  # noqa: ARG002
        """Return what logs an edit that is made in it; the services of a house do it themselves."""
        return nullcontext()

    @abstractmethod
    def in_words(self, row: Row) -> str:
        """Say how a row stands now."""

    def sent(self, prefix: str) -> QueryDict | None:
        """Return what was sent for a row; None for one that the sender's page did not have."""
        name = f"{prefix}-version" if prefix else "version"
        return None if self.data is None or name not in self.data else self.data

    def kept(self, by: User, now: datetime) -> bool:
        """Save; return whether that was done, and show what kept it from being done."""
        gone = self._gone()
        if gone or self.clashes:
            self._show_stale(StaleRowsError([], gone))
            return False
        if not any(form.is_bound for form in self.forms):
            self.stale = [gettext("The page was not whole: look at it again.")]
            return False
        if not self._is_valid():
            return False
        try:
            with self.logged(by, now):
                self.save(by, now)
        except InputFaults as error:
            self._add(error.faults)
        except StaleRowsError as error:
            self._show_stale(error)
        else:
            return True
        return False

    def faults(self) -> list[ShownFault]:
        """Return all that is wrong, in the order of the page."""
        return shown_faults(self.forms)

    def _clashes(self) -> list[Clash]:
        """Return where two people changed the same; what has no such field is as if sent now."""
        found = []
        for form in self._bound():
            of_form = clashes(form)
            found.extend(of_form)
            if not of_form and is_from_a_page(form) and not does_away(form):
                self._bring_up_to_now(form)
        return found

    def _bound(self) -> list[forms.Form]:
        return [form for form in self.forms if form.is_bound]

    def _bring_up_to_now(self, form: forms.Form) -> None:
        assert self.data is not None
        bring_up_to_now(form, self.data)

    def _gone(self) -> int:
        """Return how many rows were touched for which there is no form any more."""
        assert self.data is not None
        versions = {form.add_prefix("version") for form in self.forms}
        lost = {n for n in self.data if n.endswith("-version") and n not in versions}
        return sum(not is_as_shown(self.data, name.removesuffix("-version")) for name in lost)

    def _is_valid(self) -> bool:
        for form in self.forms:
            form.full_clean()
        self._add(self.check())
        return not any(form.errors for form in self.forms if form.is_bound)

    def _add(self, faults: Iterable[Fault]) -> None:
        by_name = {form.add_prefix(n): (form, n) for form in self.forms for n in form.fields}
        for fault in faults:
            form, name = by_name.get(fault.place, (self.forms[0], None))
            form.add_error(name, fault.text)

    def _show_stale(self, error: StaleRowsError) -> None:
        self.stale = [*map(str, self.clashes), *(self.in_words(row) for row in error.rows)]
        if error.gone:
            said = ngettext("%(n)s line is gone.", "%(n)s lines are gone.", error.gone)
            self.stale.append(said % {"n": error.gone})
        self.forms = self.build()
        for form in self._bound():
            self._bring_up_to_now(form)
        self._show_beside()

    def _show_beside(self) -> None:
        """Say at each field that clashed what it is now, beside what was typed."""
        by_name = {form.add_prefix(n): form.fields[n] for form in self.forms for n in form.fields}
        for clash in self.clashes:
            if clash.name in by_name:
                said = gettext("By now it is “%(now)s”.")
                by_name[clash.name].help_text = said % {"now": clash.now}


class HouseGroup(FormGroup):
    """The forms of one section of a page about a house."""

    def __init__(self, house: House, data: QueryDict | None = None) -> None:
        self.house = house
        super().__init__(data)


class CompanyGroup(FormGroup):
    """The forms of one section of a page about what a company has. logs: what they edit."""

    logs: tuple[Change.What, ...]

    def __init__(self, company: Company, data: QueryDict | None = None) -> None:
        self.company = company
        super().__init__(data)

    def logged(self, by: User, now: datetime) -> AbstractContextManager[None]:
        return logged(self.company, self.logs, by=by, now=now)


def _first_id(field: forms.BoundField) -> str:
    """Return the id of what is typed in or ticked first: a group of boxes has none itself."""
    return field.id_for_label or field.subwidgets[0].id_for_label


def shown_faults(forms_shown: Iterable[forms.Form]) -> list[ShownFault]:
    """Return what is wrong with forms, for the summary on top of their page."""
    return [
        ShownFault(_first_id(form[name]), str(form[name].label), str(text))
        if name in form.fields
        else ShownFault("", "", str(text))
        for form in forms_shown
        if form.is_bound
        for name in sorted(form.errors, key=[NON_FIELD_ERRORS, *form.fields].index)
        for text in form.errors[name]
    ]
