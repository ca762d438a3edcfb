"""Addresses of the guided check, and of the tablet's app."""

from django.urls import path

from checks.tablet import finding, quick, screens, shell, sync

urlpatterns = [
    path("checks/find/", finding.find, name="find"),
    path("checks/begin/<int:pk>/", finding.begin, name="begin"),
    path("checks/quick/<int:pk>/", quick.QuickView.as_view(), name="quick"),
    path("checks/drafts/<uuid:key>/discard/", finding.discard, name="discard"),
    path("checks/drafts/<uuid:key>/<slug:step>/", screens.step, name="step"),
    path("tablet/", shell.shell, name="tablet"),
    path("tablet/worker.js", shell.worker, name="tablet_worker"),
    path("tablet/app.webmanifest", shell.manifest, name="tablet_manifest"),
    path("tablet/session.json", shell.session, name="tablet_session"),
    path("tablet/sheet.json", sync.sheet, name="tablet_sheet"),
    path("tablet/checks/", sync.receive, name="tablet_receive"),
]
