"""Addresses of the interface for programs."""

from django.urls import URLPattern, path

from checks.api import (
    certificates,
    checks,
    complaints,
    due,
    forecasts,
    fuel,
    instruments,
    plans,
    policy,
    recalls,
    specifications,
    studies,
)

urlpatterns: list[URLPattern] = [
    path("checks/", checks.CheckList.as_view(), name="api-checks"),
    path("checks/<int:pk>/", checks.CheckDetail.as_view(), name="api-check"),
    path("checks/<int:pk>/assessments/", checks.AssessmentList.as_view(), name="api-assessments"),
    path("specifications/", specifications.SpecificationList.as_view(), name="api-specifications"),
    path("specifications/<int:pk>/", specifications.SpecificationDetail.as_view(), name="api-specification"),
    path("instruments/", instruments.InstrumentList.as_view(), name="api-instruments"),
    path("instruments/<int:pk>/", instruments.InstrumentDetail.as_view(), name="api-instrument"),
    path("instruments/<int:pk>/certificates/", certificates.CertificateList.as_view(), name="api-certificates"),
    path("complaints/", complaints.Complaints.as_view(), name="api-complaints"),
    path("complaints/<int:pk>/", complaints.ComplaintDetail.as_view(), name="api-complaint"),
    path("complaints/<int:pk>/close/", complaints.CloseComplaint.as_view(), name="api-complaint-close"),
    path("fuel-prices/", fuel.FuelPrices.as_view(), name="api-fuel-prices"),
    path("recalls/", recalls.Recalls.as_view(), name="api-recalls"),
    path("recalls/<int:pk>/", recalls.RecallDetail.as_view(), name="api-recall"),
    path("studies/", studies.Studies.as_view(), name="api-studies"),
    path("studies/<int:pk>/", studies.StudyDetail.as_view(), name="api-study"),
    path("policy/", policy.PolicyDetail.as_view(), name="api-policy"),
    path("forecasts/", forecasts.Forecasts.as_view(), name="api-forecasts"),
    path("forecasts/<int:turbocharger>/", forecasts.ForecastDetail.as_view(), name="api-forecast"),
    path("plans/", plans.Plans.as_view(), name="api-plans"),
    path("plans/<int:pk>/move/", plans.MoveCheck.as_view(), name="api-plan-move"),
    path("due/", due.DueList.as_view(), name="api-due"),
]
