"""A house's notes and history."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from api.access import company_view
from api.web.form_group import shown_faults
from api.web.history import history_page
from api.web.house_edits import changed_meanwhile, house_of, typed_version, who_edits
from api.web.note_form import NoteForm
from finishing.models import Company, House, Note
from finishing.services.notes import add_note, strike_note
from finishing.services.rows import StaleRowsError


@require_http_methods(["GET", "HEAD", "POST"])
@company_view()
def history(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show what has happened in a house; add a note."""
    house = house_of(company, public_id)
    form = NoteForm(house, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        add_note(house=house, **form.cleaned_data, by=who_edits(request), now=timezone.now())
        return redirect("web:history", public_id)
    return _page(request, company, house, form, status=422 if form.is_bound else 200)


@require_POST
@company_view()
def strike(request: HttpRequest, company: Company, public_id: UUID, note_id: UUID) -> HttpResponse:
    """Strike a note out, or let it stand again."""
    house = house_of(company, public_id)
    notes = Note.objects.filter(company=company, house=house)
    note = get_object_or_404(notes, public_id=note_id)
    try:
        strike_note(
            note=note,
            struck=request.POST.get("struck") == "yes",
            version=typed_version(request.POST.get("version")),
            by=who_edits(request),
            now=timezone.now(),
        )
    except StaleRowsError:
        return _page(request, company, house, NoteForm(house), changed_meanwhile(), status=409)
    return redirect("web:history", public_id)


def _page(
    request: HttpRequest,
    company: Company,
    house: House,
    form: NoteForm,
    refusal: str = "",
    *,
    status: int,
) -> HttpResponse:
    number = request.GET.get("page", "1")
    context = {
        "company": company,
        "page": history_page(company, house, number=number, now=timezone.now()),
        "form": form,
        "faults": shown_faults([form]),
        "refusal": refusal,
    }
    return render(request, "web/history.html", context, status=status)
