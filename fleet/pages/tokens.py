"""Tokens: what lets a person's programs in, made and ended by the person."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.models import Token
from fleet.pages.base import Asked
from fleet.pages.form_page import OwnForm
from fleet.pages.forms import UserForm
from fleet.selectors.scope import holds
from fleet.selectors.token import SCOPES, own_tokens, revocable, tokens_of_people
from fleet.services.token import make_token, revoke_token
from fleet.web.access import MANAGER, VIEWER, PersonRequest, ViewerView

LASTS = [("30", "30 days"), ("90", "90 days"), ("180", "180 days"), ("366", "a year")]


def grouped_scopes() -> list[tuple[str, list[tuple[str, str]]]]:
    """What there is to choose, reading first."""
    return [
        (word, [(scope, what.partition(" ")[2]) for scope, what in SCOPES.items() if scope.endswith(act)])
        for word, act in (("Read", ":read"), ("Write", ":write"))
    ]


class TokenForm(UserForm):
    name = forms.CharField(
        label="What the token is for", max_length=60, help_text="Such as the program and the machine it runs on."
    )
    days = forms.ChoiceField(label="Ends after", choices=LASTS, initial="90")
    scopes = forms.MultipleChoiceField(
        label="What the program may do",
        choices=grouped_scopes,
        widget=forms.CheckboxSelectMultiple,
        help_text="Choose no more than it needs; at each depot it can never do more than you may.",
    )

    def clean_days(self) -> int:
        """Days as a number."""
        return int(self.cleaned_data["days"])


class Tokens(ViewerView, Asked):
    """A person's tokens, and those of the people whom the person manages."""

    def get(self, request: PersonRequest) -> HttpResponse:
        others = tokens_of_people(request.user) if holds(request.user, MANAGER) else []
        return render(request, "fleet/tokens.html", {"own": own_tokens(request.user), "others": others})


class MakeToken(ViewerView, OwnForm):
    """Make a token, and show it this once."""

    role_to_write = VIEWER
    form_class = TokenForm
    title = "Make a token"
    lead = "With it a program acts in your name, as far as you allow here and until it ends."
    submit = "Make the token"
    done = ""

    def serve(self, typed: dict[str, Any]) -> str:
        self.made, self.secret = make_token(user=self.person, **typed)
        return self.back()

    def form_valid(self, form: Any) -> HttpResponse:
        """Show the secret instead of leading on: no other page knows it."""
        answer = super().form_valid(form)
        if answer.status_code != 302:
            return answer
        shown = render(self.request, "fleet/token_made.html", {"token": self.made, "secret": self.secret})
        shown.headers["Cache-Control"] = "no-store"
        return shown

    def back(self) -> str:
        return reverse("fleet:tokens")


class RevokeToken(ViewerView, Asked):
    """End a token, after asking."""

    role_to_write = VIEWER

    def row(self) -> Token:
        token = revocable(self.person).filter(pk=self.kwargs["pk"]).first()
        if token is None:
            raise Http404("No such token.")
        return token

    def get(self, request: PersonRequest, pk: int) -> HttpResponse:
        token = self.row()
        words = {
            "title": f"Revoke the token '{token.name}'?",
            "lead": "The program that uses it is refused from then on. What it recorded stays.",
            "submit": "Revoke",
            "back": reverse("fleet:tokens"),
        }
        return render(request, "fleet/confirm.html", words)

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        revoke_token(user=request.user, token=self.row())
        messages.success(request, "The token opens nothing any more.")
        return redirect("fleet:tokens")
