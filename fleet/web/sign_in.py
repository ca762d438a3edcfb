"""The sign-in: name and password, and a second code from those who have turned it on."""

import time
from typing import Any

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import LoginView, RedirectURLMixin
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.generic import FormView

from fleet.models import User
from fleet.problems import FleetError
from fleet.selectors.begin import is_empty
from fleet.selectors.demonstration import invented_people
from fleet.selectors.sign_in import has_second_factor
from fleet.services.sign_in import pass_second_step
from fleet.web.forms import CodeForm, SignInForm, show_refusal

HALF = "half signed in"
# Every page of a demonstration leads back to its questions.
INVENTED = "invented"
HALF_LASTS_S = 300
TRIES = 5


class SignIn(LoginView):
    """Name and password; a person with a second factor is not in before the second step."""

    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Ask; where nobody can sign in yet, make the first person instead."""
        return redirect("fleet:begin") if is_empty() else super().get(request, *args, **kwargs)

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        return super().get_context_data(**context) | {"invented_people": invented_people()}

    def form_valid(self, form: Any) -> HttpResponse:
        user: User = form.get_user()
        session = self.request.session
        if not has_second_factor(user):
            answer = super().form_valid(form)
            session.begin()  # type: ignore[attr-defined]
            if invented_people():
                session[INVENTED] = True
            return answer
        session.cycle_key()
        session[HALF] = {
            "user": user.pk,
            "backend": user.backend,
            "proof": user.get_session_auth_hash(),
            "at": time.time(),
            "tries": 0,
        }
        target = self.get_redirect_url()
        return HttpResponseRedirect(reverse("second_step") + (f"?{urlencode({'next': target})}" if target else ""))


class SecondStep(RedirectURLMixin, FormView):
    """The second code. Five wrong ones or five minutes, and the password is asked for again."""

    form_class = CodeForm
    template_name = "registration/second_step.html"
    next_page = "/"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        self.half = request.session.get(HALF)
        self.person = _whose(self.half)
        if self.person is None:
            request.session.pop(HALF, None)
            return self.again()
        return super().dispatch(request, *args, **kwargs)

    def form_valid(self, form: CodeForm) -> HttpResponse:
        assert self.person is not None and self.half is not None  # noqa: S101, PT018
        try:
            pass_second_step(user=self.person, code=form.cleaned_data["code"])
        except FleetError as refusal:
            self.half["tries"] += 1
            self.request.session[HALF] = self.half
            if self.half["tries"] >= TRIES:
                del self.request.session[HALF]
                messages.error(self.request, "Too many wrong codes. Give your name and password again.")
                return self.again()
            show_refusal(form, refusal)
            return self.form_invalid(form)
        del self.request.session[HALF]
        login(self.request, self.person, backend=self.half["backend"])
        self.request.session.begin()  # type: ignore[attr-defined]
        return HttpResponseRedirect(self.get_success_url())

    def again(self) -> HttpResponse:
        """Send to the first step."""
        target = self.get_redirect_url()
        return HttpResponseRedirect(reverse("login") + (f"?{urlencode({'next': target})}" if target else ""))

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        return super().get_context_data(**context) | {"next": self.get_redirect_url()}


def sign_in_for_administrators(request: HttpRequest) -> HttpResponse:
    """The administration has no sign-in of its own, which would know no second step."""
    if request.user.is_authenticated:
        raise PermissionDenied("The administration is for administrators of this installation.")
    return redirect(f"{reverse('login')}?{urlencode({'next': request.GET.get('next', reverse('admin:index'))})}")


def _whose(half: dict[str, Any] | None) -> User | None:
    """Return who gave the password, as long as that still counts."""
    if half is None or time.time() - half["at"] > HALF_LASTS_S:
        return None
    person = User.objects.filter(pk=half["user"], is_active=True).first()
    return person if person and person.get_session_auth_hash() == half["proof"] else None
