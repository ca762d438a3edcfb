"""The tablet keeps the server's order of work: the same steps, the same one open, the same place for a refusal."""

import random
from typing import Any

import pytest
from playwright.sync_api import Page

from checks.tablet.sequence import AS_FOUND, AS_LEFT, EVERY, first_open, steps_for
from tests.bay import reading
from tests.browser.guided import bay_in_inches

pytestmark = pytest.mark.django_db(transaction=True)
ORDER = """async (drafts) => {
  const { stepsFor, firstOpenStep } = await import('/static/checks/tablet/sequence.js');
  const { words } = await (await fetch('/tablet/sheet.json')).json();
  return drafts.map(([draft, cycles]) => [
    stepsFor(draft, words, cycles).map((step) => step.slug), firstOpenStep(draft, words, cycles).slug,
  ]);
}"""
PLACES = """async (draft) => {
  const { stepOfField } = await import('/static/checks/tablet/sequence.js');
  const fields = ['reason', 'complaint', 'odometer', 'engine_hours', 'instruments.dial', 'alignment.angle_deg',
    'half_turns', 'note'];
  const readings = draft.as_found.readings.map((_, i) => `as_found.readings.${i}.stimulus`);
  return [...fields, ...readings].map((field) => [field, stepOfField(field, draft)]);
}"""


def stroke(chance: random.Random) -> dict[str, Any]:
    """The beginning of a stroke, cut off anywhere."""
    rows = [reading("zero", "0", "0"), *[reading("exercise", "35")] * 3, reading("zero_return", "0", "0")]
    rows += [reading("rise", "28", "35"), reading("setting", "31", "59")]
    rows += chance.choice(([], [reading("vent", "0", "0")], [reading("fall", "25", "20")]))
    return {"readings": rows[: chance.randrange(len(rows) + 1)]}


def draft(chance: random.Random) -> dict[str, Any]:
    """Answers as a tablet keeps them, some given and some not."""
    return {
        "reason": chance.choice((None, "scheduled")),
        "instruments": chance.choice((None, {"dial": 1, "stimulus": 2})),
        "cautions_read_at": chance.choice((None, "2025-03-04T09:05:00+00:00")),
        AS_FOUND: stroke(chance),
        "half_turns": chance.choice((None, -2)),
        AS_LEFT: chance.choice((None, stroke(chance))),
        "ui": {
            "decision": chance.choice((None, "leave", "adjust")),
            "passed": sorted(chance.sample(sorted(EVERY), chance.randrange(4))),
        },
    }


def answers(one: dict[str, Any]) -> dict[str, Any]:
    """The same answers as the server's own screens keep them: a step answered has a key, one not answered has none."""
    given = {name: value for name, value in one.items() if name != "ui" and value is not None}
    return given | one["ui"]


def test_a_tablet_and_the_server_agree_on_the_steps_and_on_the_one_that_is_open(
    transactional_db: None, page: Page, enter: Any
) -> None:
    """1,000 seeded drafts, finished to any degree; some specifications ask for no exercise."""
    chance = random.Random(3)
    drafts = [(draft(chance), chance.choice((0, 2, 3))) for _ in range(1_000)]
    enter(bay_in_inches().technician, "/tablet/")
    for (one, cycles), (steps, open_one) in zip(drafts, page.evaluate(ORDER, drafts), strict=True):
        assert steps == [step.slug for step in steps_for(answers(one), cycles)]
        assert open_one == first_open(answers(one), cycles).slug


def test_a_refusal_leads_to_the_step_where_its_value_was_entered(
    transactional_db: None, page: Page, enter: Any
) -> None:
    enter(bay_in_inches().technician, "/tablet/")
    rows = [
        reading(phase, "0", "0") for phase in ("zero", "exercise", "zero_return", "rise", "setting", "vent", "hold")
    ]
    places = dict(page.evaluate(PLACES, {"as_found": {"readings": rows}, "ui": {}}))
    assert list(places.values()) == [
        *("reason",) * 4, *("instruments",) * 2, "adjust", "sign",
        "zero", "exercise", "zero-return", "rise", "rise", "rise", "fall",
    ]  # fmt: skip
