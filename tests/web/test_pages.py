"""Sign-in, health, errors and headers."""

import pytest
from django.db import DatabaseError, connection
from django.http import Http404, HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import path, reverse
from django.views import View
from rest_framework.request import Request
from rest_framework.test import APIRequestFactory, force_authenticate

from fleet import urls as project
from fleet.problems import FleetError
from fleet.web import errors
from fleet.web.access import ManagerView, RolePermission, TechnicianView, ViewerView
from tests.factories import MembershipFactory, UserFactory

pytestmark = pytest.mark.django_db

handler400, handler403 = project.handler400, project.handler403
handler404, handler500 = project.handler404, project.handler500


def refuse(request: HttpRequest) -> HttpResponse:
    raise FleetError("already_fitted", "turbocharger", "It is fitted to unit 114. Remove it there first.", 409)


def lose(request: HttpRequest) -> HttpResponse:
    raise Http404


def stumble(request: HttpRequest) -> HttpResponse:
    raise ZeroDivisionError


urlpatterns = [*project.urlpatterns, path("refuse", refuse), path("lose", lose), path("stumble", stumble)]


def test_health_needs_no_sign_in(client: Client) -> None:
    assert client.get("/healthz").json()["database"] == "well"


def test_health_says_when_the_database_is_gone(client: Client, monkeypatch) -> None:
    def no_answer() -> None:
        raise DatabaseError

    monkeypatch.setattr(connection, "cursor", no_answer)
    assert client.get("/healthz").status_code == 503


def test_signing_in_leads_to_the_address_that_was_asked_for(client: Client) -> None:
    person = UserFactory(username="mara")
    person.set_password("a long enough secret")
    person.save()
    answer = client.post(
        reverse("login"), {"username": "mara", "password": "a long enough secret", "next": reverse("jobs:list")}
    )
    assert (answer.status_code, answer.headers["Location"]) == (302, reverse("jobs:list"))


def test_five_wrong_passwords_lock_the_name_for_a_while(client: Client, settings) -> None:
    settings.AXES_ENABLED = True
    UserFactory(username="mara")
    answers = [client.post(reverse("login"), {"username": "mara", "password": str(n)}) for n in range(5)]
    assert answers[0].status_code == 200
    assert answers[-1].status_code == 429
    assert "locked for 15 minutes" in answers[-1].content.decode()


@pytest.mark.urls(__name__)
@pytest.mark.parametrize(
    ("address", "status", "words"),
    [
        ("/refuse", 409, "Remove it there first."),
        ("/lose", 404, "nothing here that you can see"),
        ("/stumble", 500, "failed on our side"),
    ],
)
def test_what_goes_wrong_is_a_page_of_ours(address: str, status: int, words: str) -> None:
    answer = Client(raise_request_exception=False).get(address)
    assert answer.status_code == status
    assert words in answer.content.decode()


def test_the_error_page_has_a_plain_one_behind_it(monkeypatch) -> None:
    def broken(*args: object, **options: object) -> HttpResponse:
        raise ZeroDivisionError

    monkeypatch.setattr(errors, "render", broken)
    answer = errors.failed(RequestFactory().get("/"))
    assert answer.status_code == 500
    assert b"failed on our side" in answer.content


def test_pages_forbid_what_is_not_ours(client: Client) -> None:
    policy = client.get(reverse("login")).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy


ROLES = ["viewer", "technician", "manager"]


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize(
    ("view", "reads", "writes"),
    [(ViewerView, 0, 1), (TechnicianView, 1, 1), (ManagerView, 2, 2)],
)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_page_opens_from_its_role_upwards(role: str, view: type, reads: int, writes: int, method: str) -> None:
    class Probe(view, View):
        def get(self, request: HttpRequest) -> HttpResponse:
            return HttpResponse()

        post = get

    request = getattr(RequestFactory(), method)("/")
    request.user = MembershipFactory(role=role).user
    if ROLES.index(role) >= (reads if method == "get" else writes):
        assert Probe.as_view()(request).status_code == 200
    else:
        with pytest.raises(FleetError, match="needs the role"):
            Probe.as_view()(request)


@pytest.mark.parametrize(
    ("role", "reads", "writes"), [(None, False, False), ("viewer", True, False), ("manager", True, True)]
)
def test_programs_are_held_to_the_same_roles(role: str | None, reads: bool, writes: bool) -> None:
    person = MembershipFactory(role=role).user if role else UserFactory()
    for method, allowed in (("get", reads), ("post", writes)):
        plain = getattr(APIRequestFactory(), method)("/")
        force_authenticate(plain, person)
        request = Request(plain)
        assert RolePermission().has_permission(request, None) is allowed  # type: ignore[arg-type]


def test_a_fragment_for_nobody_sends_the_whole_page_to_the_sign_in(client: Client) -> None:
    answer = client.get(reverse("jobs:progress", args=[1]), headers={"HX-Request": "true"})
    assert reverse("login") in answer.headers["HX-Redirect"]
