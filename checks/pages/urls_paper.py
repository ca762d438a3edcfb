"""Addresses of what is printed and photographed: labels and photographs."""

from django.urls import URLPattern, path

from checks.pages.label import LabelView
from checks.pages.photo import PhotoAddView, PhotoView, receive_photo

urlpatterns: list[URLPattern] = [
    # Below the tablet's app, which answers it from its own store where there is no network.
    path("tablet/t/<slug:code>/", LabelView.as_view(), name="label"),
    path("tablet/checks/<uuid:key>/photos/", receive_photo, name="photo_receive"),
    path("checks/<int:pk>/photos/", PhotoAddView.as_view(), name="photo_add"),
    path("photos/<uuid:key>.jpg", PhotoView.as_view(), name="photo"),
]
