"""How programs narrow a list: a value that is none of its kind is refused, and a key says nothing of what exists."""

from typing import Any

from django import forms
from django.db import models
from django_filters import rest_framework as filters
from rest_framework.request import Request

from fleet.problems import FleetError

YES_OR_NO = {"true": True, "false": False}


class YesNoField(forms.Field):
    """true, false or nothing; any other word is a mistake, not a no."""

    def to_python(self, value: Any) -> bool | None:
        """Read the word. Raises ValidationError."""
        if value in self.empty_values:
            return None
        if str(value) not in YES_OR_NO:
            raise forms.ValidationError("Write true or false.", code="invalid")
        return YES_OR_NO[str(value)]


class YesNo(filters.BooleanFilter):
    """A filter by a yes or no."""

    field_class = YesNoField

    def __init__(self, *arguments: Any, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput)  # the framework's own takes what it does not know for nothing
        super().__init__(*arguments, **options)


class ByKey(filters.NumberFilter):
    """A filter by a row's key. Of a row at another depot it finds nothing, as of one that does not exist."""

    field_class = forms.IntegerField


class Filters(filters.FilterSet):
    """What every list's filters rest on."""

    FILTER_DEFAULTS = {
        **filters.FilterSet.FILTER_DEFAULTS,
        models.BooleanField: {"filter_class": YesNo},
        models.ForeignKey: {"filter_class": ByKey},
        models.OneToOneField: {"filter_class": ByKey},
    }


class Narrowing(filters.DjangoFilterBackend):
    """The same where a view only names its fields."""

    filterset_base = Filters

    def get_filterset(self, request: Request, queryset: Any, view: Any) -> Any:
        """Refuse what says nothing before the values are read."""
        filterset = super().get_filterset(request, queryset, view)
        if filterset is not None:
            texts = {name for name, one in filterset.filters.items() if type(one) is filters.CharFilter}
            refuse_vague(request, set(filterset.filters), texts)
        return filterset


def refuse_vague(request: Request, names: set[str], texts: set[str]) -> None:
    """Raise FleetError where one of `names` is asked twice, or is none of `texts` and empty."""
    for name in sorted(names & set(request.query_params)):
        values = request.query_params.getlist(name)
        if len(values) > 1:
            raise FleetError("asked_twice", name, "Ask for one value at a time.")
        if not values[0] and name not in texts:
            raise FleetError("asked_for_nothing", name, "Give a value, or leave this out.")
