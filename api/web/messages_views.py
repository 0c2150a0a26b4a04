"""Messages to copy, and the language and units of each crew."""

from uuid import UUID

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api.access import company_view
from api.web.messages import messages_page
from finishing.models import Company, Crew
from scheduling.services.crew_speech import set_crew_speech

LANGUAGES = dict(Crew.Language.choices)


class SpeechForm(forms.Form):
    """How a crew is spoken to."""

    language = forms.ChoiceField(choices=Crew.Language.choices)
    units = forms.ChoiceField(choices=Crew.Units.choices, required=False)


@require_safe
@company_view
def messages(request: HttpRequest, company: Company) -> HttpResponse:
    """Show a message for each crew and for each house's builder."""
    asked = request.GET.get("language", "")
    language = asked if asked in LANGUAGES else Crew.Language.ENGLISH
    page = messages_page(company, language, timezone.now())
    context = {
        "company": company,
        "page": page,
        "languages": Crew.Language.choices,
        "units": Crew.Units.choices,
    }
    return render(request, "web/messages.html", context)


@require_POST
@company_view
def crew_speech(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Set the language and units of a crew."""
    crew = Crew.objects.filter(company=company, public_id=public_id).first()
    form = SpeechForm(request.POST)
    if crew is None or not form.is_valid():
        raise Http404("There is no such crew, language or unit.")
    set_crew_speech(crew=crew, **form.cleaned_data)
    return redirect("web:messages")
