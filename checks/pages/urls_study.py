"""Addresses of measurement studies; their analysis and their sheet are reports."""

from django.urls import URLPattern, path

from checks.pages import study, study_amending, study_entry, study_publishing

urlpatterns: list[URLPattern] = [
    path("studies/", study.StudiesPage.as_view(), name="studies"),
    path("studies/plan/", study.StudyPlan.as_view(), name="study_plan"),
    path("studies/<int:pk>/read/", study_entry.StudyRead.as_view(), name="study_read"),
    path("studies/<int:pk>/readings/<int:place>/", study_amending.StudyAmend.as_view(), name="study_amend"),
    path("studies/<int:pk>/set-aside/", study_amending.StudySetAside.as_view(), name="study_set_aside"),
    path("studies/<int:pk>/publish/", study_publishing.StudyPublish.as_view(), name="study_publish"),
    path("studies/<int:pk>/withdraw/", study_publishing.StudyWithdraw.as_view(), name="study_withdraw"),
]
