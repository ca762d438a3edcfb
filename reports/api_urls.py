"""Addresses of reports for programs."""

from django.urls import URLPattern, path

from reports import api

urlpatterns: list[URLPattern] = [
    path("reviews/", api.Reviews.as_view(), name="api-reviews"),
    path("reviews/<int:pk>/", api.ReviewDetail.as_view(), name="api-review"),
    path("reviews/<int:pk>/files/<str:kind>/", api.ReviewFileAddress.as_view(), name="api-review-file"),
]
