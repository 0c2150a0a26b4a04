"""Messages to copy, and the language and units of each crew."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view
from api.web.company_crew import crew_of
from api.web.crew_facts_form import SpeechForm
from api.web.house_edits import changed_meanwhile, who_edits
from api.web.messages import messages_page
from finishing.models import Change, Company, Crew
from finishing.queries.rights import Right
from finishing.services.company_log import logged
from finishing.services.rows import StaleRowsError
from scheduling.services.crew_facts import edit_crew_facts

LANGUAGES = dict(Crew.Language.choices)


@require_safe
@company_view(needs=Right.PLAN)  # they hold the secret addresses of crews' pages
def messages(request: HttpRequest, company: Company) -> HttpResponse:
    """Show a message for each crew and for each house's builder."""
    return _page(request, company)


@require_POST
@company_view()
def crew_speech(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Set the language and units of a crew."""
    crew = crew_of(company, public_id)
    form = SpeechForm(request.POST)
    if not form.is_valid():
        raise Http404("There is no such language or unit.")
    facts = dict(form.cleaned_data)
    now = timezone.now()
    try:
        with logged(company, [Change.What.CREW], by=who_edits(request), now=now):
            edit_crew_facts(crew=crew, version=facts.pop("version"), facts=facts, now=now)
    except StaleRowsError:
        return _page(request, company, refusal=changed_meanwhile())
    return redirect("web:messages")


def _page(request: HttpRequest, company: Company, refusal: str = "") -> HttpResponse:
    asked = request.GET.get("language", "")
    language = asked if asked in LANGUAGES else Crew.Language.ENGLISH
    context = {
        "company": company,
        "page": messages_page(company, language, timezone.now()),
        "languages": Crew.Language.choices,
        "units": Crew.Units.choices,
        "refusal": refusal,
    }
    return render(request, "web/messages.html", context, status=409 if refusal else 200)
