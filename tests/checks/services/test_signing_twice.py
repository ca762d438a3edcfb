"""The same key again is the same check; the same key with other content is a conflict."""

import json
import threading

import pytest
from django.db import connection

from checks.models import Assessment, Check, Draft, Reading
from checks.services.check import record_check
from fleet.models import MeterReading
from fleet.problems import FleetError
from tests.bay import make_bay

COUNTED = (Check, Reading, Assessment, MeterReading)


def counts() -> list[int]:
    return [model.objects.count() for model in COUNTED]


@pytest.mark.django_db
def test_the_same_submission_again_answers_with_the_same_check_and_changes_nothing():
    bay = make_bay()
    payload = bay.submission()
    first = record_check(user=bay.technician, submission=payload)
    before = counts()
    again = record_check(user=bay.technician, submission=json.loads(json.dumps(payload)))
    assert again.pk == first.pk
    assert counts() == before


@pytest.mark.django_db
def test_the_same_key_with_other_content_is_a_conflict():
    bay = make_bay()
    payload = bay.submission()
    record_check(user=bay.technician, submission=payload)
    before = counts()
    with pytest.raises(FleetError) as caught:
        record_check(user=bay.technician, submission=bay.submission(travel="70", key=payload["key"]))
    assert (caught.value.status, caught.value.code) == (409, "key_in_use")
    assert counts() == before


@pytest.mark.django_db
def test_a_key_cannot_be_used_to_look_at_another_persons_check():
    bay = make_bay()
    payload = bay.submission()
    record_check(user=bay.technician, submission=payload)
    with pytest.raises(FleetError) as caught:
        record_check(user=bay.manager, submission=payload)
    assert caught.value.status == 409


@pytest.mark.django_db(transaction=True)
def test_two_tabs_that_sign_in_the_same_moment_make_one_check():
    bay = make_bay()
    payload = bay.submission()
    Draft.objects.create(turbocharger=bay.turbocharger, author=bay.technician, step="sign", key=payload["key"])
    start, answers = threading.Barrier(4), []

    def sign() -> None:
        try:
            start.wait(timeout=10)
            answers.append(record_check(user=bay.technician, submission=payload).pk)
        except Exception as error:
            answers.append(error)
        finally:
            connection.close()

    tabs = [threading.Thread(target=sign) for _ in range(4)]
    for tab in tabs:
        tab.start()
    for tab in tabs:
        tab.join(timeout=30)
    assert len(answers) == 4
    assert set(answers) == {Check.objects.get().pk}
    assert Assessment.objects.count() == 1
