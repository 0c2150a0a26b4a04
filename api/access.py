"""Who asks, and for which company; what is not to be known of who asked."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate

from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django_htmx.http import HttpResponseClientRefresh

from finishing.models import Company, User


def company_of(request: HttpRequest) -> Company:
    """Return the company of the person who asks; 404 where they belong to none."""
    user = request.user
    if isinstance(user, User) and user.company is not None:
        return user.company
    raise Http404("This account belongs to no company.")


def company_view[**P](
    view: Callable[Concatenate[HttpRequest, Company, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Give a page the company it is for, after sign-in: no page can forget to ask."""

    @wraps(view)
    def signed_in_view(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_authenticated:
            return _to_sign_in(request)
        return view(request, company_of(request), *args, **kwargs)

    return signed_in_view


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
