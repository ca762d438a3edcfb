"""Addresses of the registers of specifications and instruments, and of the policy."""

from django.urls import URLPattern, URLResolver, include, path

from checks.pages import (
    certificate_entries,
    fitness,
    instrument,
    instrument_entries,
    policy,
    specification,
    specification_entries,
)

specifications: list[URLPattern] = [
    path("", specification.SpecificationsPage.as_view(), name="specifications"),
    path("<int:pk>/", specification.SpecificationPage.as_view(), name="specification"),
    path("add/<int:pk>/", specification_entries.SpecificationAdd.as_view(), name="specification_add"),
    path("<int:pk>/revise/", specification_entries.SpecificationRevise.as_view(), name="specification_revise"),
    path("<int:pk>/correct/", specification_entries.SpecificationCorrect.as_view(), name="specification_correct"),
    path("<int:pk>/end/", specification_entries.SpecificationEnd.as_view(), name="specification_end"),
]

instruments: list[URLPattern] = [
    path("", instrument.InstrumentsPage.as_view(), name="instruments"),
    path("add/", instrument.InstrumentKinds.as_view(), name="instrument_add"),
    path("add/<slug:kind>/", instrument_entries.InstrumentAdd.as_view(), name="instrument_add_kind"),
    path("fitness/", fitness.FitnessPage.as_view(), name="fitness"),
    path("<int:pk>/", instrument.InstrumentPage.as_view(), name="instrument"),
    path("<int:pk>/edit/", instrument_entries.InstrumentEdit.as_view(), name="instrument_edit"),
    path("<int:pk>/withdraw/", instrument_entries.InstrumentWithdraw.as_view(), name="instrument_withdraw"),
    path("<int:pk>/bring-back/", instrument_entries.InstrumentBringBack.as_view(), name="instrument_bring_back"),
    path("<int:pk>/certificates/add/", certificate_entries.CertificateAdd.as_view(), name="certificate_add"),
    path(
        "<int:pk>/certificates/<int:certificate>/supersede/",
        certificate_entries.CertificateSupersede.as_view(),
        name="certificate_supersede",
    ),
]

urlpatterns: list[URLPattern | URLResolver] = [
    path("specifications/", include(specifications)),
    path("instruments/", include(instruments)),
    path("policy/", policy.PolicyPage.as_view(), name="policy"),
]
