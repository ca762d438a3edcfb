"""Addresses of reports for programs."""

from django.urls import URLPattern, path

from reports.api import reviews

urlpatterns: list[URLPattern] = [
    path("reviews/", reviews.Reviews.as_view(), name="api-reviews"),
    path("reviews/<int:pk>/", reviews.ReviewDetail.as_view(), name="api-review"),
    path("reviews/<int:pk>/files/<str:kind>/", reviews.ReviewFileAddress.as_view(), name="api-review-file"),
]
