"""Which crews' pages a phone has used: a signed cookie each, which goes to visits' addresses only.

It lets nobody write: it leads to the page whose secret the phone had already.
"""

from django.http import HttpRequest, HttpResponse

from finishing.models import Crew
from scheduling.models import CrewPage

SALT = "crew page"
KEPT_S = 400 * 24 * 3600
"""The longest that browsers keep a cookie."""


def remember_page(request: HttpRequest, response: HttpResponse, page: CrewPage) -> None:
    """Let the phone open the addresses of this crew's visits from now on."""
    response.set_signed_cookie(
        _name(page.crew),
        str(page.generation),
        salt=SALT + str(page.public_id),
        max_age=KEPT_S,
        path="/v/",
        secure=request.is_secure(),
        httponly=True,
        samesite="Lax",
    )


def page_of_phone(request: HttpRequest, crew: Crew) -> CrewPage | None:
    """Return the crew's page where this phone has used it, at the address that it has now."""
    page = CrewPage.objects.filter(crew=crew, revoked_at=None).first()
    if page is None:
        return None
    known = request.get_signed_cookie(
        _name(crew), default="", salt=SALT + str(page.public_id), max_age=KEPT_S
    )
    return page if known == str(page.generation) else None


def _name(crew: Crew) -> str:
    return f"crew-{crew.public_id.hex}"
