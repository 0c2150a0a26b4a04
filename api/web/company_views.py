"""The company: what it plans with besides its houses."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view, may_plan
from api.web.company_history import company_history_page
from api.web.company_part import page_of_group
from api.web.house_edits import who_edits
from api.web.prices_form import PricesGroup
from api.web.rates_form import RatesGroup
from api.web.settings_form import SettingsGroup
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.services.rows import StaleRowsError
from scheduling.services.rate_offers import decline_rates, take_rates

ANSWERS = {"take": take_rates, "decline": decline_rates}


@require_safe
@company_view()
def company_hub(request: HttpRequest, company: Company) -> HttpResponse:
    """Lead to the pages about what the company plans with."""
    return render(request, "web/company.html", {"company": company})


@require_safe
@company_view()
def company_history(request: HttpRequest, company: Company) -> HttpResponse:
    """Show who edited what of all that plans are made with besides the houses."""
    page = company_history_page(
        company,
        request.GET.get("page", "1"),
        with_prices=may_plan(request),
    )
    return render(request, "web/company_history.html", {"company": company, "page": page})


rates = page_of_group(RatesGroup, name="rates", template="web/rates.html")


@require_POST
@company_view()
def answer_rate_offer(
    request: HttpRequest, company: Company, stage: str, answer: str
) -> HttpResponse:
    """Take what reports say of a stage's rates, or decline it; as it was seen, or not at all."""
    if answer not in ANSWERS:
        raise Http404("There is no such answer.")
    seen_as, by = request.POST.get("seen_as", ""), who_edits(request)
    try:
        ANSWERS[answer](company=company, stage=stage, seen_as=seen_as, by=by, now=timezone.now())
    except StaleRowsError:
        context = {"company": company, "group": RatesGroup(company), "offer_is_another": True}
        return render(request, "web/rates.html", context, status=409)
    said = "?saved=yes" if answer == "take" else ""
    return redirect(f"{reverse('web:rates')}{said}#reported")


prices = page_of_group(PricesGroup, name="prices", template="web/prices.html", needs=Right.PLAN)
settings = page_of_group(
    SettingsGroup, name="settings", template="web/settings.html", writes=Right.OWN
)
