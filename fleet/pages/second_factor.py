"""Each person's second factor: turned on, given new recovery codes, turned off."""

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import redirect, render

from fleet.models import User
from fleet.pages.base import Asked
from fleet.pages.sign_in import PasswordField
from fleet.problems import FleetError
from fleet.selectors.sign_in import key_to_take_over, second_factor_of
from fleet.services.sign_in import (
    begin_second_factor,
    confirm_second_factor,
    end_second_factor,
    renew_recovery_codes,
)
from fleet.web.access import VIEWER, PersonRequest, ViewerView
from fleet.web.forms import CodeForm, show_refusal


class FirstCodeForm(CodeForm):
    """The code that shows that a device has taken the key over."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.fields["code"].help_text = "Six digits, as your device shows them now."


class ProofForm(forms.Form):
    """Asks once more who it is, before something that would help a thief of an open session."""

    password = PasswordField(label="Your password")


class SecondFactor(ViewerView, Asked):
    """Turn the second factor on, take new recovery codes, turn it off: each after the password."""

    role_to_write = VIEWER

    def get(self, request: PersonRequest) -> HttpResponse:
        return self.show(FirstCodeForm() if second_factor_of(self.person).is_begun else ProofForm())

    def post(self, request: PersonRequest) -> HttpResponse:
        if request.POST.get("act") == "confirm":
            return self.confirm()
        form = ProofForm(request.POST)
        if form.is_valid() and not self.proved(form.cleaned_data["password"]):
            form.add_error("password", "This is not your password. Mind capital letters.")
        if not form.is_valid():
            return self.show(form)
        return self.act(request.POST.get("act", ""), form)

    def act(self, act: str, form: ProofForm) -> HttpResponse:
        """Do what the pressed button says."""
        try:
            if act == "renew":
                return self.show_codes(renew_recovery_codes(user=self.person))
            if act == "end":
                end_second_factor(user=self.person)
                update_session_auth_hash(self.request, self.person)
                messages.success(self.request, "The second factor is off: your password alone signs you in.")
                return redirect("fleet:me")
            begin_second_factor(user=self.person)
        except FleetError as refusal:
            show_refusal(form, refusal)
            return self.show(form)
        return redirect("fleet:second_factor")

    def confirm(self) -> HttpResponse:
        form = FirstCodeForm(self.request.POST)
        if form.is_valid():
            try:
                codes = confirm_second_factor(user=self.person, code=form.cleaned_data["code"])
            except FleetError as refusal:
                show_refusal(form, refusal)
            else:
                update_session_auth_hash(self.request, self.person)
                return self.show_codes(codes)
        return self.show(form)

    def proved(self, password: str) -> bool:
        """Ask as the sign-in does, so that guesses count as guesses there."""
        person = authenticate(self.request, username=self.person.get_username(), password=password)
        return isinstance(person, User) and person.pk == self.person.pk

    def show(self, form: forms.Form) -> HttpResponse:
        factor = second_factor_of(self.person)
        key = key_to_take_over(self.person) if factor.is_begun else None
        return render(self.request, "fleet/second_factor.html", {"form": form, "factor": factor, "key": key})

    def show_codes(self, codes: list[str]) -> HttpResponse:
        """Show recovery codes, this once."""
        answer = render(self.request, "fleet/recovery_codes.html", {"codes": codes})
        answer["Cache-Control"] = "no-store"
        return answer
