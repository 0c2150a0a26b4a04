"""Signing in and out, a forgotten password, and one's own account: for everybody who signs in."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth import views as auth
from django.contrib.auth.forms import AuthenticationForm, PasswordResetForm
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse, reverse_lazy
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from api.access import company_of, company_view, secretive
from api.web.account import account_page
from api.web.came_from import address_of
from api.web.house_edits import who_edits
from api.web.second_step_views import ask_for_code
from api.web.signing_in import SignInForm, note_browser, sign_in
from finishing.models import Company, User, UserSession
from finishing.queries.rights import Right
from finishing.services.first_owner import is_awaited
from finishing.services.second_step import has_second_step
from finishing.services.sign_in_limits import may_try
from finishing.services.user_sessions import end_sessions


class SignIn(auth.LoginView):
    """Ask for an address and a password."""

    template_name = "web/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Lead to the first page of all while there is nobody who could sign in."""
        if is_awaited():
            return redirect("web:first_owner")
        return super().get(request, *args, **kwargs)

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        user = form.get_user()
        assert isinstance(user, User)
        if has_second_step(user):
            return ask_for_code(self.request, user)
        sign_in(self.request, user)
        return HttpResponseRedirect(self.get_success_url())


class ForgottenPassword(auth.PasswordResetView):
    """Ask for an address, and write to it where somebody signs in by it; the answer is the same."""

    template_name = "web/password_forgotten.html"
    email_template_name = "web/password_forgotten.txt"
    subject_template_name = "web/password_forgotten_subject.txt"
    success_url = reverse_lazy("web:password_sent")

    def form_valid(self, form: PasswordResetForm) -> HttpResponse:
        """Write, but not more often than one may try to sign in. The link is made from the site's
        own address, whatever host was asked for."""
        self.extra_email_context = {"site": settings.SITE_URL}
        account, address = f"forgotten {form.cleaned_data['email']}", address_of(self.request)
        if may_try(account=account, address=address or "", now=timezone.now()):
            return super().form_valid(form)
        return HttpResponseRedirect(str(self.success_url))


class NewPassword(auth.PasswordResetConfirmView):
    """Take a new password from who was sent the link; all browsers are signed out."""

    template_name = "web/password_new.html"
    success_url = reverse_lazy("web:sign_in")

    def dispatch(self, *args: Any, **kwargs: Any) -> HttpResponseBase:
        return secretive(super().dispatch(*args, **kwargs))

    def form_valid(self, form: Any) -> HttpResponse:
        end_sessions(user=form.user)
        return super().form_valid(form)


class ChangePassword(auth.PasswordChangeView):
    """Take another password from who knows the one there is; all other browsers are signed out."""

    template_name = "web/password_change.html"
    success_url = reverse_lazy("web:account")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(company=company_of(self.request), **kwargs)

    def form_valid(self, form: Any) -> HttpResponse:
        response: HttpResponse = super().form_valid(form)
        user = who_edits(self.request)
        end_sessions(user=user)  # all are of the old password
        note_browser(self.request, user)
        return response

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)


@never_cache
@require_safe
@company_view(writes=Right.READ)
def account(request: HttpRequest, company: Company) -> HttpResponse:
    """Show who is signed in, as what, and where else."""
    page = account_page(who_edits(request), request.session.session_key, now=timezone.now())
    return render(request, "web/account.html", {"company": company, "page": page})


@require_POST
@company_view(writes=Right.READ)
def end_session(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Sign oneself out in one browser."""
    rows = UserSession.objects.filter(company=company, user=who_edits(request))
    end_sessions(user=who_edits(request), only=get_object_or_404(rows, public_id=public_id))
    return redirect(reverse("web:account") + "#sessions")


@require_POST
@company_view(writes=Right.READ)
def end_other_sessions(request: HttpRequest, company: Company) -> HttpResponse:  # noqa: ARG001
    """Sign oneself out everywhere but here."""
    end_sessions(user=who_edits(request), but=request.session.session_key)
    return redirect(reverse("web:account") + "#sessions")
