"""What the words mean, and how the numbers are computed: two pages of text that are the same for everybody."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views import View

from checks.vocabulary import methods, terms
from fleet.web.access import PersonRequest, ViewerView


class WordsPage(ViewerView, View):
    """The glossary."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show every term, and lead from it to its method."""
        return render(request, "checks/words.html", {"groups": terms.GROUPS, "methods": methods.METHODS})


class MethodsPage(ViewerView, View):
    """How each number is computed."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show every method under its anchor."""
        return render(request, "checks/methods.html", {"groups": methods.GROUPS})
