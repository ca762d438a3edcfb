"""Live says that the process answers; ready says whether it can do its work, part by part."""

import shutil
from types import SimpleNamespace

import pytest
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from fleet.jobs import broker
from fleet.web import health

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def fresh():
    """Nothing remembered of another test's database."""
    health.require_migrated.cache_clear()
    yield
    health.require_migrated.cache_clear()


def test_all_is_well(client: Client) -> None:
    answer = client.get("/healthz/ready")
    assert answer.status_code == 200
    assert answer.json() == {"ready": True, "database": "well", "schema": "well", "disk": "well", "broker": "well"}


def test_a_process_without_its_database_lives_but_is_not_ready(client: Client, monkeypatch) -> None:
    def away() -> None:
        raise DatabaseError

    monkeypatch.setattr(connection, "cursor", away)
    assert client.get("/healthz/live").status_code == 200
    answer = client.get("/healthz/ready")
    assert (answer.status_code, answer.json()["database"]) == (503, "does not answer")


def test_a_database_behind_the_code_is_not_ready_until_it_is_migrated(client: Client) -> None:
    applied = MigrationRecorder.Migration.objects
    last = applied.filter(app="fleet").latest("pk")
    name, app = last.name, last.app
    last.delete()
    answer = client.get("/healthz/ready")
    assert (answer.status_code, answer.json()["schema"]) == (503, "migrations wait: run 'manage.py migrate'")
    applied.create(app=app, name=name)
    assert client.get("/healthz/ready").status_code == 200


def test_a_full_disk_is_not_ready(client: Client, monkeypatch) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda path: SimpleNamespace(free=health.LEAST_FREE_BYTES - 1))
    answer = client.get("/healthz/ready")
    assert (answer.status_code, answer.json()["disk"]) == (503, "almost full")


def test_a_silent_broker_is_told_and_takes_nothing_away(client: Client, settings) -> None:
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    answer = client.get("/healthz/ready")
    assert (answer.status_code, answer.json()["ready"]) == (200, True)
    assert answer.json()["broker"] == "does not answer; jobs wait for the next beat"
    assert not broker.answers()


def test_readiness_costs_a_constant_number_of_queries(client: Client, django_assert_max_num_queries) -> None:
    client.get("/healthz/ready")
    with django_assert_max_num_queries(1):
        client.get("/healthz/ready")
