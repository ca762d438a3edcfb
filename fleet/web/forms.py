"""How forms are drawn everywhere, and the key that keeps a form from being taken twice."""

import uuid
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.forms.renderers import TemplatesSetting

from fleet.problems import FleetError, each_error


class Renderer(TemplatesSetting):
    """Forms and fields in the project's own clothes."""

    form_template_name = "fleet/forms/form.html"
    field_template_name = "fleet/forms/field.html"


class SignInForm(AuthenticationForm):
    """Says what is wrong without telling which of the two it is."""

    error_messages = {
        "invalid_login": "This name and password do not belong together. Mind capital letters, and try again.",
        "inactive": "This person no longer signs in here. Ask a manager of your depot.",
    }


class CodeForm(forms.Form):
    """One code, from the device or from the list of recovery codes."""

    code = forms.CharField(
        max_length=60,
        help_text="Six digits from your device, or one of your recovery codes.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True, "spellcheck": "false"}),
    )


class KeyField(forms.UUIDField):
    """A hidden key made with the empty form: sent twice, the same form is the same request."""

    widget = forms.HiddenInput

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"initial": uuid.uuid4, **options})
        self.error_messages |= {
            "required": "This form lost its key on the way. Reload the page and send it again.",
            "invalid": "This form lost its key on the way. Reload the page and send it again.",
        }


def show_refusal(form: forms.BaseForm, refusal: FleetError) -> None:
    """Put each sentence of a service beside the field it names; over the form when the form has no such field."""
    for error in each_error(refusal):
        name = error.field.split(".")[0]
        form.add_error(name if name in form.fields else None, forms.ValidationError(error.sentence, code=error.code))
