"""Revising, correcting and ending a specification, and which revision is in force on a day."""

from datetime import date

import pytest

from checks.models import SpecificationRevision
from checks.selectors.specification import revision_in_force, revision_rows, revisions_in_force
from checks.services.specification import (
    add_specification,
    correct_specification,
    end_specification,
    revise_specification,
)
from fleet.problems import FleetError, FleetErrors
from tests.checks.registers.conftest import COMMON

pytestmark = pytest.mark.django_db


@pytest.fixture
def first(manager, pneumatic):
    return add_specification(author=manager, turbocharger_model=pneumatic, entry=COMMON)


@pytest.fixture
def second(manager, first):
    entry = {**COMMON, "revision": "B", "effective_from": "2025-06-01", "nominal_mm": ["0.060", "in"]}
    return revise_specification(author=manager, specification=first, entry=entry)


def test_a_revision_takes_over_on_its_first_day(pneumatic, first, second):
    assert revision_in_force(pneumatic, date(2025, 5, 31)) == first
    assert revision_in_force(pneumatic, date(2025, 6, 1)) == second


def test_no_revision_is_in_force_before_the_first(pneumatic, first):
    assert revision_in_force(pneumatic, date(2023, 12, 31)) is None
    assert revision_in_force(pneumatic, date(2024, 1, 1)) == first


def test_a_revision_is_in_force_on_its_last_day_and_not_after_it(manager, pneumatic, first):
    end_specification(author=manager, specification=first, entry={"effective_to": "2025-02-01", "reason": "withdrawn"})
    assert revision_in_force(pneumatic, date(2025, 2, 1)) == first
    assert revision_in_force(pneumatic, date(2025, 2, 2)) is None


def test_many_models_are_read_in_one_query(django_assert_num_queries, manager, pneumatic, electric, first, second):
    with django_assert_num_queries(1):
        held = revisions_in_force([pneumatic, electric], date(2026, 1, 1))
    assert held == {pneumatic.pk: second}
    assert held[pneumatic.pk] == revision_in_force(pneumatic, date(2026, 1, 1))


def test_revising_leaves_the_old_revision_as_it_was(first, second):
    first.refresh_from_db()
    assert first.nominal_mm == pytest.approx(1.4986)
    assert second.nominal_mm == pytest.approx(1.524)


def test_an_unused_revision_may_be_corrected(manager, first):
    correct_specification(
        author=manager, specification=first, entry={**COMMON, "nominal_mm": ["0.058", "in"], "revision": "A1"}
    )
    first.refresh_from_db()
    assert (first.revision, first.typed["nominal_mm"]) == ("A1", ["0.058", "in"])
    assert first.history.first().history_change_reason == "corrected before use"


def test_a_used_revision_is_never_corrected(manager, first, monkeypatch):
    monkeypatch.setattr("checks.services.specification.is_used", lambda row: True)
    with pytest.raises(FleetError, match="Revise it") as caught:
        correct_specification(author=manager, specification=first, entry={**COMMON, "revision": "A1"})
    assert (caught.value.code, caught.value.status) == ("revision_in_use", 409)
    assert SpecificationRevision.objects.get().revision == "A"


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        ({"effective_to": "2023-12-31", "reason": "x"}, "effective_to"),
        ({"effective_to": "2025-01-01", "reason": " "}, "reason"),
        ({"effective_to": "tomorrow", "reason": "x"}, "effective_to"),
    ],
)
def test_an_end_needs_a_day_after_the_start_and_a_reason(manager, first, entry, field):
    with pytest.raises(FleetErrors) as caught:
        end_specification(author=manager, specification=first, entry=entry)
    assert [fault.field for fault in caught.value.errors] == [field]


def test_the_line_of_revisions_says_what_each_is(viewer, pneumatic, first, second):
    before, after = date(2025, 1, 1), date(2026, 1, 1)
    assert [row.state for row in revision_rows(viewer, pneumatic, on=before)] == ["not yet", "in force"]
    rows = revision_rows(viewer, pneumatic, on=after)
    assert [(row.state, row.last_day) for row in rows] == [("in force", None), ("replaced", date(2025, 5, 31))]
    assert [row.used for row in rows] == [False, False]
