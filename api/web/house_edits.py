"""What the pages that edit a house share: the house, who edits, and edits from stale pages."""

from uuid import UUID

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from finishing.models import Company, House, User


def house_of(company: Company, public_id: UUID) -> House:
    """Return a house of the company's; 404 where it has no such house."""
    rows = House.objects.filter(company=company).select_related("company")
    return get_object_or_404(rows, public_id=public_id)


def who_edits(request: HttpRequest) -> User:
    """Return the person who is signed in; for views behind ``company_view``."""
    assert isinstance(request.user, User)
    return request.user


def typed_version(text: str | None) -> int:
    """Return the version that a form was made with; 0, which no row has, where it has none."""
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0


def changed_meanwhile() -> str:
    return _("Somebody else changed this after you opened the page. It is now as shown here.")
