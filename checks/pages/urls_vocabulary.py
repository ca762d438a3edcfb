"""Addresses of the glossary and of the methods."""

from django.urls import URLPattern, path

from checks.pages.vocabulary import MethodsPage, WordsPage

urlpatterns: list[URLPattern] = [
    path("words/", WordsPage.as_view(), name="words"),
    path("methods/", MethodsPage.as_view(), name="methods"),
]
