"""Each person's own page: units, theme, mail, and the calendar with its secret address."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.models import User
from fleet.pages.base import Asked
from fleet.pages.form_page import OwnForm
from fleet.pages.forms import UserForm
from fleet.selectors.feed import feed_of
from fleet.selectors.sign_in import has_second_factor
from fleet.services.feed import end_feed, renew_feed
from fleet.services.membership import set_preferences
from fleet.web.access import VIEWER, PersonRequest, ViewerView


class PreferencesForm(UserForm):
    pressure_unit = forms.ChoiceField(label="Pressure in", choices=User.Pressure.choices)
    length_unit = forms.ChoiceField(label="Rod travel in", choices=User.Length.choices)
    distance_unit = forms.ChoiceField(label="Distance in", choices=User.Distance.choices)
    theme = forms.ChoiceField(
        label="Light or dark", required=False, choices=[("", "as the device"), ("light", "light"), ("dark", "dark")]
    )
    email = forms.EmailField(label="Mail address", max_length=254, required=False)
    morning_mail = forms.BooleanField(
        label="A mail each morning",
        required=False,
        help_text="What your depots do today, what is overdue and what changed; none on days with nothing to say.",
    )


class Me(ViewerView, OwnForm):
    """In which units and theme a person reads and types."""

    role_to_write = VIEWER
    form_class = PreferencesForm
    template_name = "fleet/me.html"
    title = "Your units, theme and mail"
    lead = "Values are shown and typed in these units. What was typed before is kept as it was."
    done = "Kept. Pages now show these units."

    def get_initial(self) -> dict[str, Any]:
        return {name: getattr(self.person, name) for name in PreferencesForm.base_fields}

    def serve(self, typed: dict[str, Any]) -> str:
        set_preferences(user=self.person, **typed)
        return self.back()

    def back(self) -> str:
        return reverse("fleet:me")

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        own = {"feed": feed_of(self.person), "second_factor": has_second_factor(self.person)}
        return super().get_context_data(**context) | own


class RenewFeed(ViewerView, Asked):
    """Give a person's calendar a new secret address, and show it this once."""

    role_to_write = VIEWER
    http_method_names = ["post"]

    def post(self, request: PersonRequest) -> HttpResponse:
        secret = renew_feed(user=request.user)
        address = request.build_absolute_uri(reverse("reports:calendar", args=[secret]))
        answer = render(request, "fleet/feed.html", {"address": address})
        answer.headers["Cache-Control"] = "no-store"
        return answer


class EndFeed(ViewerView, Asked):
    """End a person's calendar."""

    role_to_write = VIEWER
    http_method_names = ["post"]

    def post(self, request: PersonRequest) -> HttpResponse:
        end_feed(user=request.user)
        messages.success(request, "The calendar's address leads nowhere any more.")
        return redirect("fleet:me")
