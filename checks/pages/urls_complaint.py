"""Addresses at which complaints are filed, amended and closed."""

from django.urls import URLPattern, path

from checks.pages.complaint import AmendComplaint, CloseComplaint, FileComplaint, FileComplaintOfUnit

urlpatterns: list[URLPattern] = [
    path("trucks/<int:pk>/complaint/", FileComplaint.as_view(), name="complaint_file"),
    path("units/<int:pk>/complaint/", FileComplaintOfUnit.as_view(), name="complaint_file_unit"),
    path("complaints/<int:pk>/amend/", AmendComplaint.as_view(), name="complaint_amend"),
    path("complaints/<int:pk>/close/", CloseComplaint.as_view(), name="complaint_close"),
]
