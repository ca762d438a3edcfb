"""Another revision comes into force between the first screen and the signature."""

import pytest
from django.utils import timezone

from checks.models import Check
from checks.models import SpecificationRevision as Revision
from tests.bay import Bay
from tests.factories import SpecificationFactory
from tests.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.fixture
def newer(walk: Walk, bay: Bay) -> Revision:
    walk.to_the_verdict()
    walk.send("verdict", decision="leave")
    return SpecificationFactory(
        turbocharger_model=bay.turbocharger.model, effective_from=timezone.localdate(), revision="B"
    )


def test_the_signature_is_refused_and_nothing_is_lost(walk: Walk, newer: Revision) -> None:
    refused = walk.sign()
    assert refused.status_code == 409
    assert "revision B" in refused.content.decode()
    assert "Go on by the revision in force" in refused.content.decode()
    assert not Check.objects.exists()
    assert len(walk.listed()) == 6


def test_the_check_goes_on_by_the_new_revision(walk: Walk, newer: Revision) -> None:
    walk.sign()
    assert walk.send("sign", action="other-revision").url.endswith("/verdict/")
    walk.send("verdict", decision="leave")
    walk.sign()
    assert walk.check.specification == newer
