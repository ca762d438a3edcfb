"""Pages that cost much are counted by person and minute."""

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import URLResolver, get_resolver, reverse

from tests.factories import MembershipFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def few(settings):
    cache.clear()
    settings.COSTLY_RATE = 2
    yield
    cache.clear()


def test_the_third_file_in_a_minute_waits(client: Client) -> None:
    client.force_login(MembershipFactory(role="viewer").user)
    answers = [client.get(reverse("reports:fuel_file")) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 429]
    assert answers[-1].headers["Retry-After"] == "60"
    assert "Wait a minute" in answers[-1].content.decode()


def test_another_person_does_not_wait_for_it(client: Client) -> None:
    for _ in range(2):
        client.force_login(MembershipFactory(role="viewer").user)
        assert [client.get(reverse("reports:fuel_file")).status_code for _ in range(2)] == [200, 200]


def test_what_only_costs_when_sent_is_read_freely(client: Client) -> None:
    client.force_login(MembershipFactory(role="manager").user)
    assert {client.get(reverse("fleet:import")).status_code for _ in range(4)} == {200}
    assert [client.post(reverse("fleet:import")).status_code for _ in range(3)] == [200, 200, 429]


def test_work_goes_on_where_the_count_cannot_be_kept(client: Client, monkeypatch) -> None:
    def broken(*args: object, **options: object) -> int:
        raise ValueError("gone")

    monkeypatch.setattr(cache, "incr", broken)
    client.force_login(MembershipFactory(role="viewer").user)
    assert {client.get(reverse("reports:fuel_file")).status_code for _ in range(4)} == {200}


def test_every_file_is_counted() -> None:
    reports = next(
        entry
        for entry in get_resolver().url_patterns
        if isinstance(entry, URLResolver) and entry.namespace == "reports"
    )
    files = [entry for entry in reports.url_patterns if entry.name.endswith("_file")]
    assert len(files) > 5
    assert [entry.name for entry in files if "GET" not in getattr(entry.callback.view_class, "costly", ())] == []
