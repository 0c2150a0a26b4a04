"""Bringing in files: chosen, tried, imported; and an example of each kind."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from api.access import company_view
from api.web.house_edits import who_edits
from api.web.import_form import ImportForm, import_form
from api.web.import_page import import_page, imports_page
from finishing.models import Company
from finishing.queries.rights import Right
from finishing.services.errors import InputFaults
from finishing.services.example_files import example_file
from finishing.services.file_imports import FileKind, import_file


@require_safe
@company_view(needs=Right.PLAN)
def imports(request: HttpRequest, company: Company) -> HttpResponse:
    """Show which kinds of files can be brought in."""
    return render(request, "web/imports.html", {"company": company, "page": imports_page()})


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def import_kind(request: HttpRequest, company: Company, kind: str) -> HttpResponse:
    """Try a file and say what it would do; import it when it comes back with that."""
    known = _kind(kind)
    if request.method == "POST":
        return _sent(request, company, import_form(known, company, request.POST, request.FILES))
    form = import_form(known, company)
    page = import_page(form, imported=request.GET.get("imported", ""))
    return render(request, "web/import.html", {"company": company, "page": page})


@require_safe
@company_view(needs=Right.PLAN)
def example(request: HttpRequest, company: Company, kind: str) -> HttpResponse:  # noqa: ARG001
    """Send an example file."""
    known = _kind(kind)
    content = example_file(company=company, kind=known, now=timezone.now())
    file = HttpResponse(content, content_type="text/csv; charset=utf-8")
    file["Content-Disposition"] = f'attachment; filename="example-{known}.csv"'
    return file


def _sent(request: HttpRequest, company: Company, form: ImportForm) -> HttpResponse:
    status, page = 422, import_page(form)
    if form.is_valid():
        token = form.cleaned_data["token"]
        try:
            outcome = import_file(
                company=company,
                upload=form.upload(),
                by=who_edits(request),
                now=timezone.now(),
                token=token,
            )
        except InputFaults as error:
            page = import_page(form, faults=error.faults)
        else:
            if outcome.kept:
                said = f"?imported={len(outcome.lines)}"
                return redirect(reverse("web:import_kind", args=[form.kind]) + said)
            page = import_page(form, outcome=outcome, is_stale=bool(token))
            status = 409 if token else 200
    return render(request, "web/import.html", {"company": company, "page": page}, status=status)


def _kind(name: str) -> FileKind:
    try:
        return FileKind(name)
    except ValueError:
        raise Http404("There is no such kind of file.") from None
