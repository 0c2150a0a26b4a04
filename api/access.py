"""Who asks, and for which company; what is not to be known of who asked."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.functional import SimpleLazyObject
from django_htmx.http import HttpResponseClientRefresh

from api.row_ids import require_own_rows
from finishing.models import ApiToken, Company, Crew, Role, User
from finishing.queries.rights import Right, rights_of, rights_of_token

type CompanyView[**P] = Callable[Concatenate[HttpRequest, Company, P], HttpResponse]
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


def token_of(request: HttpRequest) -> ApiToken | None:
    """Return the token that the request came with, None for a browser with a session."""
    token = getattr(request, "auth", None)
    return token if isinstance(token, ApiToken) else None


def who_asks(request: HttpRequest) -> User | None:
    """Return the person who asks, None for a machine."""
    return request.user if isinstance(request.user, User) else None


def company_of(request: HttpRequest) -> Company:
    """Return the company of who asks; 404 where they belong to none."""
    if token := token_of(request):
        return token.company
    user = request.user
    if isinstance(user, User) and user.company is not None:
        return user.company
    raise Http404("This account belongs to no company.")


def own_crew_only(request: HttpRequest) -> Crew | None:
    """Return the crew that who asks leads and may report for alone; None where there is none."""
    user = who_asks(request)
    return user.crew if user is not None and user.role == Role.CREW_LEAD else None


def rights_of_asker(request: HttpRequest) -> frozenset[Right]:
    """Return what who asks may do; nothing for somebody of no company."""
    if token := token_of(request):
        return rights_of_token(token)
    user = request.user
    if not isinstance(user, User) or user.company is None:
        return frozenset()
    return rights_of(user.role)


def may_plan(request: HttpRequest) -> bool:
    """Return whether who asks may plan, and so see what things cost."""
    return Right.PLAN in rights_of_asker(request)


def require_right(request: HttpRequest, *, needs: Right = Right.READ, writes: Right) -> None:
    """Refuse (PermissionDenied) who lacks a right: ``needs`` for any request, ``writes`` as well
    for one that may change something."""
    asked = {needs} if request.method in SAFE_METHODS else {needs, writes}
    if not asked <= rights_of_asker(request):
        raise PermissionDenied


def company_view[**P](
    *, needs: Right = Right.READ, writes: Right = Right.PLAN
) -> Callable[[CompanyView[P]], Callable[Concatenate[HttpRequest, P], HttpResponse]]:
    """Give a page the company it is for, after sign-in: no page can forget to ask.

    needs, writes: as in ``require_right``; who lacks one is told so (403). An address with an id
    of another company's row is none (404), whatever the view looks at.
    """

    def decorate(view: CompanyView[P]) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
        @wraps(view)
        def signed_in(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return _to_sign_in(request)
            company = company_of(request)
            require_right(request, needs=needs, writes=writes)
            require_own_rows(company, kwargs)
            try:
                return view(request, company, *args, **kwargs)
            except ObjectDoesNotExist:
                require_own_rows(company, kwargs)  # 404 where it was removed a moment ago
                raise

        return signed_in

    return decorate


def shown_rights(request: HttpRequest) -> dict[str, Any]:
    """Give templates ``rights``: by name of a right, whether who reads the page has it.

    Worked out when first looked at: a crew's page asks for no session.
    """

    def by_name() -> dict[str, bool]:
        held = rights_of_asker(request)
        return {right.value: right in held for right in Right}

    return {"rights": SimpleLazyObject(by_name)}


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    """Lead to the sign-in page, and from there back to the page that was open.

    A part of a page that its script asks for is none to come back to: the page loads itself
    again. Nor is the address of a form: its page has one more look before it is sent.
    """
    if request.headers.get("HX-Request") == "true":
        return HttpResponseClientRefresh()
    if request.method in {"GET", "HEAD"}:
        return redirect_to_login(request.get_full_path())
    return redirect_to_login(request.headers.get("Referer", ""))  # judged on the way back


def unlogged[R: HttpResponseBase](response: R) -> R:
    """Keep a request's path, which holds a secret, out of Django's log of refused requests."""
    response._has_been_logged = True  # type: ignore[attr-defined]
    return response


def secretive[R: HttpResponseBase](response: R) -> R:
    """Keep the address of a page with a form, which holds a secret, out of logs and of what other
    pages are told. With no referrer at all browsers would send forms as from nowhere, which the
    guard against forged ones refuses: so the site is told, and nothing of its path."""
    response.headers["Referrer-Policy"] = "strict-origin"
    return unlogged(response)
