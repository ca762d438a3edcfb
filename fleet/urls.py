"""Every address of the project; the owners of the pages keep their own lists."""

from django.contrib import admin
from django.contrib.auth import views as auth
from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView

from fleet.pages.api_docs import ApiDocs
from fleet.web.health import answer_live, answer_ready
from fleet.web.metrics import metrics
from fleet.web.sign_in import SecondStep, SignIn, sign_in_for_administrators

api: list[URLPattern | URLResolver] = [
    path("", include("fleet.api.urls")),
    path("", include("checks.api.urls")),
    path("", include("reports.api.urls")),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("docs/", ApiDocs.as_view(), name="docs"),
]

urlpatterns = [
    path("healthz", answer_ready, name="health"),
    path("healthz/live", answer_live, name="health_live"),
    path("healthz/ready", answer_ready, name="health_ready"),
    path("metrics", metrics, name="metrics"),
    path("accounts/login/", SignIn.as_view(), name="login"),
    path("accounts/second/", SecondStep.as_view(), name="second_step"),
    path("accounts/logout/", auth.LogoutView.as_view(), name="logout"),
    path("admin/login/", sign_in_for_administrators, name="admin_sign_in"),
    path("admin/", admin.site.urls),
    path("api/v1/", include(api)),
    path("jobs/", include("fleet.web.jobs")),
    path("register/", include("fleet.pages.urls")),
    path("", include("checks.urls")),
    path("", include("reports.urls")),
]

handler400 = "fleet.web.errors.bad_request"
handler403 = "fleet.web.errors.forbidden"
handler404 = "fleet.web.errors.not_found"
handler500 = "fleet.web.errors.failed"
