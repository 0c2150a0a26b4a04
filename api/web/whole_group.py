"""Sections of a house's page that are sent whole: half of one is no edit."""

from datetime import datetime

from django import forms
from django.utils.translation import gettext as _

from api.web.form_group import HouseGroup
from finishing.models import User


class WholeGroup(HouseGroup):
    """A section with forms that every page of it sends."""

    def needed(self) -> list[forms.Form]:
        """Return the forms that no page goes without: the first one."""
        return self.forms[:1]

    def kept(self, by: User, now: datetime) -> bool:
        """Save, but nothing of a page that came without one of them."""
        if all(form.is_bound for form in self.needed()):
            return super().kept(by, now)
        self.stale = [_("The page was not whole: look at it again.")]
        self.forms = self.build()
        return False
