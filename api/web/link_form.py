"""What a calendar shows and to whom, as the office sets it."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.web.figure_field import WholeField
from api.web.form_group import CompanyGroup, VersionedForm
from finishing.models import Company, Crew, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from scheduling.jobs import tell_odds_soon
from scheduling.models import FeedLink
from scheduling.models.link import MOST_WEEKS
from scheduling.services.links import OPTIONS, edit_link
from scheduling.services.new_feeds import add_feed
from scheduling.wording import listed


class LinkForm(VersionedForm):
    """Its fields are ``links.OPTIONS``."""

    for_whom = forms.CharField(
        label=gettext_lazy("For whom"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("Who follows it, so that you know whose to end one day."),
    )
    weeks = WholeField(
        label=gettext_lazy("Weeks ahead"),
        min_value=1,
        max_value=MOST_WEEKS,
        help_text=gettext_lazy("From 1 to 52; blank for all that is planned."),
    )
    language = forms.ChoiceField(label=gettext_lazy("Language"), choices=Crew.Language.choices)
    shows_drying = forms.BooleanField(
        label=gettext_lazy("Shows while coats dry: do not touch"), required=False
    )
    names_crews = forms.BooleanField(label=gettext_lazy("Names the crews"), required=False)
    has_alarms = forms.BooleanField(
        label=gettext_lazy("Reminds an hour before each visit"), required=False
    )

    def __init__(self, link: FeedLink, data: Any, **more: Any) -> None:
        super().__init__(data, **more)
        if link.kind == FeedLink.Kind.CREW:
            language = self.fields["language"]
            assert isinstance(language, forms.ChoiceField)
            language.required = False
            language.choices = [("", _("the crew's")), *Crew.Language.choices]
        if link.kind != FeedLink.Kind.HOUSE:
            del self.fields["names_crews"]


class LinkGroup(CompanyGroup):
    """The form of one calendar; a new one is not stored yet."""

    logs = ()

    def __init__(self, company: Company, link: FeedLink, data: QueryDict | None = None) -> None:
        self.link = link
        super().__init__(company, data)

    def build(self) -> list[forms.Form]:
        if self.link.pk:
            self.link = FeedLink.objects.defer("body", "body_gzip").get(pk=self.link.pk)
        initial: dict[str, Any] = {name: getattr(self.link, name) for name in OPTIONS}
        initial["version"] = self.link.version if self.link.pk else 0
        return [LinkForm(self.link, self.sent(""), initial=initial)]

    def check(self) -> Iterable[Fault]:
        return ()

    def save(self, by: User, now: datetime) -> None:
        values = dict(self.forms[0].cleaned_data)
        version = values.pop("version")
        if self.link.pk:
            edit_link(link=self.link, version=version, values=values, now=now)
            return
        for name, value in values.items():
            setattr(self.link, name, value)
        add_feed(link=self.link, now=now, by=by, tell=tell_odds_soon)

    def in_words(self, row: Row) -> str:
        assert isinstance(row, FeedLink)
        return f"{row}: {options_said(row)}"


def options_said(link: FeedLink) -> str:
    """Say what a calendar shows."""
    weeks = _("%(n)s weeks ahead") % {"n": link.weeks} if link.weeks else _("all that is planned")
    return listed(
        [
            weeks,
            link.get_language_display() if link.language else _("in the crew's language"),
            _("with drying times") if link.shows_drying else "",
            _("names the crews") if link.names_crews else "",
            _("with reminders") if link.has_alarms else "",
        ]
    )
