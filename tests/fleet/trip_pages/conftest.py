"""Somebody who sends files of trips."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.factories import TruckFactory
from tests.fleet.trip_pages.sent_trips import READ
from tests.fleet.trips.trip_lines import lines


@pytest.fixture
def trucks(crew):
    return [TruckFactory(depot=crew.depot, unit_number=number) for number in ("201", "202")]


@pytest.fixture
def client(crew, signed_in):
    return signed_in(crew.manager)


@pytest.fixture
def send(client):
    """Return a function that uploads a file and gives the answer."""

    def upload(content, name="trips.csv", source="Yard export"):
        data = content if isinstance(content, bytes) else content.encode()
        return client.post(reverse("fleet:trips_bring"), {"source": source, "file": SimpleUploadedFile(name, data)})

    return upload


@pytest.fixture
def post(client, django_capture_on_commit_callbacks):
    """Return a function that posts to an address and lets the jobs that it asks for run."""

    def run(address, data):
        with django_capture_on_commit_callbacks(execute=True):
            return client.post(address, data)

    return run


@pytest.fixture
def tried(send, post, trucks):
    """Return a function that sends lines and makes their trial run; gives the address of the run."""

    def run(*rows):
        return post(send(lines(*rows)).url, READ | {"act": "trial"}).url

    return run
