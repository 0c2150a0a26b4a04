"""The second step of signing in: asked for, turned on and off."""

from textwrap import wrap
from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import REDIRECT_FIELD_NAME
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api.access import company_view
from api.web.came_from import address_of
from api.web.house_edits import who_edits
from api.web.signing_in import LOCKED, sign_in
from finishing.models import Company, User
from finishing.queries.rights import Right
from finishing.services.second_step import has_second_step, key_address, passes, turn_off, turn_on
from finishing.services.sign_in_limits import forget_tries, may_try

HALF_WAY = "half_signed_in"
SECONDS = 10 * 60
"""How long after the password the code may follow."""
WRONG = _("This code is wrong, or was used already.")


class CodeForm(forms.Form):
    """A code of six digits, or one that was written down."""

    code = forms.CharField(
        label=_("Code"),
        max_length=24,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "one-time-code"}),
    )

    def clean_code(self) -> str:
        return "".join(str(self.cleaned_data["code"]).split()).lower()


class PasswordOnceMore(forms.Form):
    """The password of who is signed in."""

    password = forms.CharField(
        label=_("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, person: User, data: Any = None) -> None:
        super().__init__(data)
        self.person = person

    def clean_password(self) -> str:
        typed = str(self.cleaned_data["password"])
        if not self.person.check_password(typed):
            raise forms.ValidationError(_("The password is wrong."))
        return typed


def ask_for_code(request: HttpRequest, user: User) -> HttpResponse:
    """Note who has given the right password, and ask for the code; nobody is signed in yet."""
    wanted = request.POST.get(REDIRECT_FIELD_NAME, "")
    request.session[HALF_WAY] = [user.pk, timezone.now().timestamp(), wanted]
    return redirect("web:second_step")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def second_step(request: HttpRequest) -> HttpResponse:
    """Ask for the code of who has given the right password, and sign them in."""
    pk, at, wanted = request.session.get(HALF_WAY) or (0, 0.0, "")
    user = User.objects.filter(pk=pk, is_active=True).first()
    if user is None or timezone.now().timestamp() - at > SECONDS:
        return redirect("web:sign_in")
    form = CodeForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and _is_right(request, user, form):
        del request.session[HALF_WAY]
        sign_in(request, user)
        is_here = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
        return redirect(wanted if is_here else resolve_url(settings.LOGIN_REDIRECT_URL))
    return render(request, "web/second_step.html", {"form": form}, status=_status(form))


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@company_view(writes=Right.READ)
def edit_second_step(request: HttpRequest, company: Company) -> HttpResponse:
    """Turn the second step on, with a first code; or off, with the password."""
    person, sent = who_edits(request), request.POST if request.method == "POST" else None
    if has_second_step(person):
        form: forms.Form = PasswordOnceMore(person, sent)
        if form.is_bound and form.is_valid():
            turn_off(person)
            return redirect("web:account")
        context = {"company": company, "form": form}
        return render(request, "web/second_step_off.html", context, status=_status(form))
    form = CodeForm(sent)
    if form.is_bound and form.is_valid():
        if codes := turn_on(person, code=form.cleaned_data["code"]):
            shown = [" ".join(wrap(one, 4)) for one in codes]
            return render(request, "web/written_codes.html", {"company": company, "codes": shown})
        form.add_error("code", WRONG)
    context = _to_turn_on(company, person, form)
    return render(request, "web/second_step_on.html", context, status=_status(form))


def _status(form: forms.Form) -> int:
    return 422 if form.errors else 200


def _to_turn_on(company: Company, person: User, form: forms.Form) -> dict[str, Any]:
    import segno  # noqa: PLC0415 - drawn once in a person's life

    address = key_address(person)
    drawn = segno.make(address, error="m").svg_inline(scale=5, border=4, light="#fff")
    key = address.partition("secret=")[2].partition("&")[0]
    picture = mark_safe(drawn)  # noqa: S308  # nosec B308 B703
    return {"company": company, "form": form, "picture": picture, "key": key}


def _is_right(request: HttpRequest, user: User, form: CodeForm) -> bool:
    """Look at the code, not too often; say on the form what is wrong."""
    account, address = f"code of {user.pk}", address_of(request) or ""
    if not may_try(account=account, address=address, now=timezone.now()):
        form.add_error(None, LOCKED)
    elif passes(user, code=form.cleaned_data["code"]):
        forget_tries(account=account, address=address)
        return True
    else:
        form.add_error("code", WRONG)
    return False
