"""The first visit to an empty installation: its first person and its first depot."""

from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.generic import FormView

from fleet.pages.fields import ShortNameField
from fleet.pages.sign_in import PasswordField
from fleet.problems import FleetError
from fleet.selectors.begin import is_empty
from fleet.services.begin import begin_register
from fleet.web.forms import show_refusal

BACKEND = "django.contrib.auth.backends.ModelBackend"


class BeginForm(forms.Form):
    username = forms.CharField(
        label="Your sign-in name", max_length=150, widget=forms.TextInput(attrs={"autocomplete": "username"})
    )
    password = PasswordField(label="Password", fill="new-password", help_text="At least 12 characters.")
    again = PasswordField(label="Password once more", fill="new-password")
    name = forms.CharField(label="Your first depot", max_length=80, help_text="The yard whose trucks come first.")
    code = ShortNameField(label="Its short name")
    time_zone = forms.CharField(
        max_length=64, initial="UTC", help_text="Such as Europe/London.",
        widget=forms.TextInput(attrs={"data-own-zone": True}),
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if typed.get("again") and typed.get("password") != typed["again"]:
            self.add_error("again", "The two passwords differ. Type the same one twice.")
        return typed


class Begin(FormView):
    """Only while nobody can sign in. Where strangers could come first, the first person is made on the server."""

    form_class = BeginForm
    template_name = "fleet/begin.html"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if not is_empty():
            return redirect("login")
        if not settings.LOCAL:
            return render(request, "fleet/begin_on_server.html")
        return super().dispatch(request, *args, **kwargs)

    def form_valid(self, form: BeginForm) -> HttpResponse:
        typed = {name: value for name, value in form.cleaned_data.items() if name != "again"}
        try:
            person = begin_register(**typed)
        except FleetError as refusal:
            show_refusal(form, refusal)
            return self.form_invalid(form)
        login(self.request, person, backend=BACKEND)
        self.request.session.begin()  # type: ignore[attr-defined]
        self.request.session["first_steps"] = True  # the masthead leads back to them until this sign-in ends
        return redirect("reports:first_steps")
