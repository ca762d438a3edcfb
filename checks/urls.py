"""Addresses of checks; each set of pages keeps its own list."""

from django.urls import URLPattern, URLResolver

from checks.pages import (
    urls_amend,
    urls_complaint,
    urls_fuel,
    urls_paper,
    urls_recall,
    urls_registers,
    urls_study,
    urls_vocabulary,
)
from checks.tablet import urls as urls_guided

app_name = "checks"
urlpatterns: list[URLPattern | URLResolver] = [
    *urls_guided.urlpatterns,
    *urls_amend.urlpatterns,
    *urls_complaint.urlpatterns,
    *urls_fuel.urlpatterns,
    *urls_paper.urlpatterns,
    *urls_recall.urlpatterns,
    *urls_registers.urlpatterns,
    *urls_study.urlpatterns,
    *urls_vocabulary.urlpatterns,
]
