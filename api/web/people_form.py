"""What an owner types of who may sign in: an address, a role, the crew of a crew lead."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from api.web.form_group import VersionField
from api.web.row_field import RowField, offer
from finishing.models import Company, Crew, Role, User

NO_CREW = _("no crew")


class RoleForm(forms.Form):
    """What somebody is. crew: only for a crew lead."""

    version = VersionField(required=False)
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)
    crew: RowField[Crew] = RowField(label=_("Crew that they lead"), required=False)

    def __init__(self, company: Company, data: Any = None, **more: Any) -> None:
        super().__init__(data, **more)
        offer(self, "crew", company, Crew.objects.filter(company=company), blank=NO_CREW)

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        if said.get("role") == Role.CREW_LEAD and not said.get("crew") and "crew" in said:
            self.add_error("crew", _("Choose the crew that they lead."))
        if said.get("role") != Role.CREW_LEAD:
            said["crew"] = None
        return said


class InviteForm(RoleForm):
    """Whom to invite, as what."""

    email = forms.EmailField(label=_("E-mail address"), max_length=254)
    field_order = ("email", "role", "crew", "version")


def role_form(person: User, data: Any = None) -> RoleForm:
    """Return the form of somebody as they are now, or as it was sent."""
    assert person.company
    initial = {
        "version": person.version,
        "role": person.role,
        "crew": str(person.crew.public_id) if person.crew else "",
    }
    auto_id = f"id_{person.public_id}_%s"
    return RoleForm(person.company, data, initial=initial, auto_id=auto_id)
