"""Addresses of amendments, of judging again, and of the safety flag."""

from django.urls import URLPattern, path

from checks.pages.amend import AmendPage, ClearFlag, Rejudge

urlpatterns: list[URLPattern] = [
    path("checks/<int:pk>/amend/", AmendPage.as_view(), name="amend"),
    path("specifications/<int:pk>/rejudge/", Rejudge.as_view(), name="rejudge"),
    path("units/<int:pk>/safety-flag/", ClearFlag.as_view(), name="safety_flag"),
]
