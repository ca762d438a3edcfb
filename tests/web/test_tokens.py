"""A token acts for its person, within its scopes, until it ends."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.models import KeyedRequest, Token, Truck
from fleet.problems import FleetError, FleetErrors
from fleet.selectors.secret import digest_of
from fleet.services.token import make_token, revoke_token
from tests.bay import person
from tests.factories import DepotFactory, TruckFactory, UserFactory

pytestmark = pytest.mark.django_db
TRUCKS = "/api/v1/trucks/"


@pytest.fixture
def depot():
    return DepotFactory()


@pytest.fixture
def manager(depot):
    return person(depot, "manager")


def bearer(secret):
    return Client(headers={"Authorization": f"Bearer {secret}"}, enforce_csrf_checks=True)


def add_truck(client, depot, number="114"):
    body = {"depot": depot.pk, "unit_number": number, "in_service_on": "2022-01-01"}
    return client.post(TRUCKS, body, content_type="application/json", headers={"Idempotency-Key": str(uuid4())})


def test_a_token_reads_and_writes_in_its_persons_name(depot, manager) -> None:
    token, secret = make_token(user=manager, name="Bridge", scopes=["register:read", "register:write"], days=30)
    assert add_truck(bearer(secret), depot).status_code == 201
    assert bearer(secret).get(TRUCKS).json()["results"][0]["unit_number"] == "114"
    assert Truck.history.get().history_user == manager
    assert KeyedRequest.objects.get().token == token
    token.refresh_from_db()
    assert timezone.now() - token.last_used_at < timedelta(minutes=1)


def test_only_a_digest_of_the_secret_is_kept(manager) -> None:
    token, secret = make_token(user=manager, name="Bridge", scopes=["register:read"], days=30)
    kept = Token.objects.values().get(pk=token.pk)
    assert secret not in str(kept)
    assert (token.digest, token.begins) == (digest_of(secret), secret[:8])


def test_a_scope_that_is_missing_is_named(depot, manager) -> None:
    _, secret = make_token(user=manager, name="Reader", scopes=["register:read"], days=30)
    answer = add_truck(bearer(secret), depot)
    assert (answer.status_code, answer.json()["code"]) == (403, "scope_missing")
    assert "register:write" in answer.json()["title"]
    assert bearer(secret).get("/api/v1/checks/").status_code == 403


def test_a_token_cannot_do_more_than_its_person(depot) -> None:
    TruckFactory(depot=DepotFactory())
    _, secret = make_token(user=person(depot, "viewer"), name="x", scopes=["register:read", "register:write"], days=1)
    assert bearer(secret).get(TRUCKS).json()["results"] == []
    assert add_truck(bearer(secret), depot).status_code == 403


@pytest.mark.parametrize("end", ["expired", "revoked", "left", "mistyped"])
def test_a_token_that_has_ended_opens_nothing(manager, end) -> None:
    token, secret = make_token(user=manager, name="x", scopes=["register:read"], days=1)
    if end == "expired":
        Token.objects.update(made_at=timezone.now() - timedelta(days=2), expires_at=timezone.now())
    elif end == "revoked":
        revoke_token(user=manager, token=token)
    elif end == "left":
        manager.is_active = False
        manager.save()
    else:
        secret += "x"
    answer = bearer(secret).get(TRUCKS)
    assert (answer.status_code, answer.headers["Content-Type"]) == (401, "application/problem+json")
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_a_token_opens_no_page(manager) -> None:
    _, secret = make_token(user=manager, name="x", scopes=["register:read"], days=1)
    assert bearer(secret).get(reverse("fleet:tokens")).status_code == 302


def test_a_session_still_needs_its_token_against_forged_forms(depot, manager) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(manager)
    answer = add_truck(client, depot)
    assert (answer.status_code, answer.headers["Content-Type"]) == (403, "application/problem+json")
    assert not Truck.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "code"),
    [({"scopes": []}, "scope_needed"), ({"scopes": ["all:write"]}, "scope_unknown"), ({"days": 0}, "token_days"),
     ({"days": 400}, "token_days"), ({"name": " "}, "blank")],
)  # fmt: skip
def test_a_token_needs_a_name_an_end_and_known_scopes(manager, wrong, code) -> None:
    with pytest.raises(FleetErrors) as refusal:
        make_token(user=manager, **{"name": "x", "scopes": ["register:read"], "days": 30} | wrong)
    assert refusal.value.code == code


def test_two_live_tokens_of_a_person_have_two_names(manager) -> None:
    first, _ = make_token(user=manager, name="Bridge", scopes=["register:read"], days=1)
    with pytest.raises(FleetErrors, match="already have a token"):
        make_token(user=manager, name="Bridge", scopes=["register:read"], days=1)
    revoke_token(user=manager, token=first)
    make_token(user=manager, name="Bridge", scopes=["register:read"], days=1)


def test_a_manager_of_the_depot_ends_a_token_and_a_colleague_does_not(depot, manager) -> None:
    technician = person(depot, "technician")
    token, _ = make_token(user=technician, name="Bridge", scopes=["register:read"], days=1)
    for other in (person(depot, "technician"), person(DepotFactory(), "manager")):
        with pytest.raises(FleetError) as refusal:
            revoke_token(user=other, token=token)
        assert refusal.value.status == 403
    ended = revoke_token(user=manager, token=token)
    assert (ended.revoked_by, ended.revoked_at is not None) == (manager, True)


def test_a_manager_ends_no_token_of_an_administrator(depot, manager) -> None:
    administrator = person(depot, "technician")
    administrator.is_superuser = True
    administrator.save()
    token, _ = make_token(user=administrator, name="x", scopes=["register:read"], days=1)
    with pytest.raises(FleetError):
        revoke_token(user=manager, token=token)


def test_the_page_shows_the_secret_once_and_lists_what_others_hold(client, depot, manager) -> None:
    technician = person(depot, "technician")
    client.force_login(technician)
    sent = {"name": "Bridge", "days": "30", "scopes": ["register:read"]}
    made = client.post(reverse("fleet:token_add"), sent)
    secret = made.context["secret"]
    assert (secret in made.content.decode(), made.headers["Cache-Control"]) == (True, "no-store")
    assert bearer(secret).get(TRUCKS).status_code == 200
    listed = client.get(reverse("fleet:tokens"))
    assert secret not in listed.content.decode()
    client.force_login(manager)
    others = client.get(reverse("fleet:tokens")).context["others"]
    assert [(row.name, row.person) for row in others] == [("Bridge", technician.display_name)]


def test_the_page_costs_the_same_for_many(client, depot, manager, django_assert_max_num_queries) -> None:
    for number in range(12):
        make_token(user=person(depot, "viewer"), name=f"T{number}", scopes=["register:read"], days=1)
    client.force_login(manager)
    with django_assert_max_num_queries(9):
        client.get(reverse("fleet:tokens"))


def test_somebody_without_a_depot_gets_nothing_by_a_token() -> None:
    _, secret = make_token(user=UserFactory(), name="x", scopes=["register:read"], days=1)
    assert bearer(secret).get(TRUCKS).status_code == 403
