"""A new webhook, and a new calendar on another server, as they are typed."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.form_group import CompanyGroup, VersionedForm
from api.web.row_field import RowField, offer
from finishing.models import Change, User
from finishing.models.owned import Row
from finishing.services.errors import Fault
from scheduling.models import FeedLink, Webhook
from scheduling.outgoing_wording import EVENTS, address_fault
from scheduling.queries.links import links_of_company
from scheduling.services.pushes import LONGEST_PASSWORD, add_push, push_faults
from scheduling.services.webhooks import add_webhook, webhook_faults


class AddressForm(VersionedForm):
    """Something that is sent to an address."""

    address = forms.CharField(
        label=_("Address"),
        max_length=500,
        widget=forms.URLInput(attrs={"autocomplete": "off"}),
        help_text=_("https, at a host that whoever runs this server has listed."),
    )


class WebhookForm(AddressForm):
    """A webhook."""

    events = forms.MultipleChoiceField(
        label=_("Tell it of"),
        choices=list(EVENTS.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick at least one.")},
    )


class PushForm(AddressForm):
    """A collection of a calendar server."""

    link: RowField[FeedLink] = RowField(label=_("Which calendar"))
    username = forms.CharField(label=_("User name there"), max_length=200, required=False)
    password = forms.CharField(
        label=_("Password there"),
        max_length=LONGEST_PASSWORD,
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text=_("Kept encrypted, and never shown again. Best one that is for this alone."),
    )
    field_order = ("version", "link", "address", "username", "password")


class WebhookGroup(CompanyGroup):
    """The form of a webhook that is added. secret: to be shown once, when it is."""

    logs: tuple[Change.What, ...] = ()
    made: Webhook
    secret: str

    def build(self) -> list[forms.Form]:
        return [WebhookForm(self.data, initial={"version": 0, "events": [*EVENTS]})]

    def check(self) -> Iterable[Fault]:
        typed = self.forms[0].cleaned_data
        if {"address", "events"} <= typed.keys():
            yield from _worded(
                webhook_faults(
                    company=self.company, address=typed["address"], events=typed["events"]
                )
            )

    def save(self, by: User, now: datetime) -> None:
        typed: dict[str, Any] = self.forms[0].cleaned_data
        self.made, self.secret = add_webhook(
            company=self.company,
            address=typed["address"],
            events=typed["events"],
            now=now,
            by=by,
        )

    def in_words(self, row: Row) -> str:
        return str(row)


class PushGroup(CompanyGroup):
    """The form of a calendar on another server that is added. has_nothing_to_send: there is no
    calendar of the company whose entries could be put there."""

    logs: tuple[Change.What, ...] = ()
    has_nothing_to_send: bool

    def build(self) -> list[forms.Form]:
        form = PushForm(self.data, initial={"version": 0})
        links = links_of_company(self.company).filter(revoked_at=None).defer("body", "body_gzip")
        offer(form, "link", self.company, links)
        self.has_nothing_to_send = not links
        return [form]

    def check(self) -> Iterable[Fault]:
        if address := self.forms[0].cleaned_data.get("address"):
            yield from _worded(push_faults(company=self.company, address=address))

    def save(self, by: User, now: datetime) -> None:
        typed: dict[str, Any] = self.forms[0].cleaned_data
        add_push(
            link=typed["link"],
            address=typed["address"],
            username=typed["username"],
            password=typed["password"],
            now=now,
            by=by,
        )

    def in_words(self, row: Row) -> str:
        return str(row)


def _worded(faults: Iterable[Fault]) -> Iterable[Fault]:
    return [Fault(fault.place, address_fault(fault.text)) for fault in faults]
