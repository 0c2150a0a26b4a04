"""Who asks, and for which company; what is not to be known of who asked."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

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

    @login_required
    @wraps(view)
    def signed_in_view(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        return view(request, company_of(request), *args, **kwargs)

    return signed_in_view


def unlogged[R: HttpResponseBase](response: R) -> R:
    """Keep a request's path, which holds a secret, out of Django's log of refused requests."""
    response._has_been_logged = True  # type: ignore[attr-defined]
    return response
