"""Pages about a company with one form to save: shown, saved, refused."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.form_group import CompanyGroup
from api.web.house_edits import who_edits
from finishing.models import Company
from finishing.queries.rights import Right

type View = Callable[[HttpRequest], HttpResponse]


def page_of_group(
    group: type[CompanyGroup],
    *,
    name: str,
    template: str,
    needs: Right = Right.READ,
    writes: Right = Right.PLAN,
) -> View:
    """Return the view of a page that shows and saves a group; name: that of its address."""

    @require_http_methods(["GET", "HEAD", "POST"])
    @company_view(needs=needs, writes=writes)
    def view(request: HttpRequest, company: Company) -> HttpResponse:
        if request.method != "POST":
            return _page(request, company, template, group(company))
        sent = group(company, request.POST)
        if sent.kept(who_edits(request), timezone.now()):
            return redirect(reverse(f"web:{name}") + "?saved=yes")
        return _page(request, company, template, sent, status=409 if sent.stale else 422)

    return view


def _page(
    request: HttpRequest, company: Company, template: str, group: CompanyGroup, status: int = 200
) -> HttpResponse:
    saved = status == 200 and request.GET.get("saved") == "yes"
    context = {"company": company, "group": group, "saved": saved}
    return render(request, template, context, status=status)
