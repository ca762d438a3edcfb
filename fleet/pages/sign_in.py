"""Each person's own sign-in: the password, and the sessions elsewhere."""

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from fleet.pages.base import Asked
from fleet.pages.form_page import RegisterForm
from fleet.selectors.token import live_tokens
from fleet.services.sign_in import change_password, end_other_sessions
from fleet.web.access import VIEWER, PersonRequest, ViewerView


class PasswordField(forms.CharField):
    """Hidden while it is typed, and never sent back."""

    def __init__(self, *, fill: str = "current-password", **options: Any) -> None:
        super().__init__(
            widget=forms.PasswordInput(attrs={"autocomplete": fill}), strip=False, max_length=128, **options
        )


class PasswordForm(forms.Form):
    old = PasswordField(label="Present password")
    new = PasswordField(label="New password", fill="new-password", help_text="At least 12 characters.")
    again = PasswordField(label="New password once more", fill="new-password")
    tokens = forms.BooleanField(label="End my tokens for programs too", required=False)

    def __init__(self, *arguments: Any, tokens: int, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if not tokens:
            del self.fields["tokens"]
        else:
            self.fields["tokens"].help_text = (
                f"You have {tokens} in use. A program goes on with its token whatever the password; "
                "end them where somebody else may have known yours."
            )

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if typed.get("again") and typed.get("new") != typed["again"]:
            self.add_error("again", "The two new passwords differ. Type the new one twice.")
        return typed


class Password(ViewerView, RegisterForm):
    """A new password; the other sessions end with the old one."""

    role_to_write = VIEWER
    form_class = PasswordForm
    template_name = "fleet/password.html"
    title = "Change your password"
    lead = "You stay signed in here. Everywhere else you sign in again with the new one."
    done = "You have a new password. Other sessions have ended."

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"tokens": live_tokens(self.person).count()}

    def serve(self, typed: dict[str, Any]) -> str:
        change_password(user=self.person, old=typed["old"], new=typed["new"], with_tokens=typed.get("tokens", False))
        update_session_auth_hash(self.request, self.person)
        return self.back()

    def back(self) -> str:
        return reverse("fleet:me")


class EndOtherSessions(ViewerView, Asked):
    """End every session of the person but this one."""

    role_to_write = VIEWER
    http_method_names = ["post"]

    def post(self, request: PersonRequest) -> HttpResponse:
        end_other_sessions(user=request.user)
        update_session_auth_hash(request, request.user)
        messages.success(request, "You are signed in here alone now.")
        return redirect("fleet:me")
