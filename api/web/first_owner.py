"""The first page of an installation: whoever can read a code on the server becomes its owner."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext, gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api.web.join_views import PasswordForm
from api.web.signing_in import sign_in
from finishing.models import User
from finishing.queries.companies import own_companies
from finishing.services.first_owner import is_awaited, is_first_code, make_first_owner
from finishing.services.holidays import has_holidays


class FirstOwnerForm(PasswordForm):
    """The code, who they are, and their company."""

    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    email = forms.EmailField(
        label=gettext_lazy("Your e-mail address"),
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
        help_text=gettext_lazy("You sign in with it."),
    )
    company = forms.CharField(
        label=gettext_lazy("Your company"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "organization"}),
        help_text=gettext_lazy("As crews and builders are to read it."),
    )
    zone = forms.ChoiceField(
        label=gettext_lazy("Time zone"),
        initial="UTC",
        help_text=gettext_lazy("On whose clock you work, such as Europe/Dublin."),
    )
    country = forms.CharField(
        label=gettext_lazy("Country"),
        max_length=2,
        required=False,
        help_text=gettext_lazy("Two letters such as IE, for public holidays; or leave it blank."),
    )
    field_order = ("code", "email", "password1", "password2", "company", "zone", "country")

    def __init__(self, data: Any = None) -> None:
        super().__init__(User(), data)
        zone = self.fields["zone"]
        assert isinstance(zone, forms.ChoiceField)
        zone.choices = [(name, name) for name in sorted(available_timezones())]
        if companies := own_companies():  # files were imported before anybody came
            found = companies[0]
            known = {"company": found.name, "zone": found.zone, "country": found.country}
            self.initial = {**self.initial, **known}

    def clean_code(self) -> str:
        """Refuse any other code. Nobody guesses 96 bits, so tries are not counted."""
        if not is_first_code(self.cleaned_data["code"]):
            raise ValidationError(gettext("This is not the code. Have it printed again."))
        return ""

    def clean_country(self) -> str:
        country = str(self.cleaned_data["country"]).upper()
        if country and not has_holidays(country):
            raise ValidationError(gettext("No public holidays are known for these letters."))
        return country

    def clean(self) -> dict[str, Any]:
        self.person.email = self.cleaned_data.get("email", "")  # no password is like it
        return super().clean()


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def first_owner(request: HttpRequest) -> HttpResponse:
    """Make the first owner and their company; once there is anybody, lead to signing in."""
    if not is_awaited():
        return redirect("web:sign_in")
    form = FirstOwnerForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and (person := _made(form)):
        sign_in(request, person)
        return redirect("web:today")
    context = {"form": form}
    return render(request, "web/first_owner.html", context, status=422 if form.is_bound else 200)


def _made(form: FirstOwnerForm) -> User | None:
    """Make them; None, with why not in the form, where that cannot be done."""
    typed = form.cleaned_data
    try:
        return make_first_owner(
            email=typed["email"],
            password=typed["password1"],
            company=typed["company"],
            zone=typed["zone"],
            country=typed["country"],
            now=timezone.now(),
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None
