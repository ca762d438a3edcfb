"""Whatever a file holds, every line is taken or refused, and nothing else happens."""

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.imports.formats import FORMATS
from fleet.imports.staging import go_ahead, stage
from fleet.imports.trial import run_trial
from fleet.models import Engine, Fitment, Truck, Turbocharger
from fleet.problems import FleetError
from tests.fleet.outcome import outcome

pytestmark = pytest.mark.django_db
tolerant = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
KINDS = st.sampled_from(FORMATS)
# Small pools, so that lines agree, collide and repeat.
POOLS = {
    "depot": ["SALT", "salt", "BRAE", ""],
    "vin": ["", "11111111111111111", "1M8GDM9AXKP042788", "1M8GDM9A0KP042788"],
    "check_digit": ["", "required", "no"],
    "layout": ["", "single", "twin"],
    "actuator": ["pneumatic", "electric", ""],
    "position": ["", "single", "front", "rear"],
    "unit_number": ["1", "2", "3", ""],
    "engine_serial": ["E1", "E2", ""],
    "serial": ["T1", "T2", "T3", ""],
    "model": ["Tern 2", "Knot 1"],
    "odometer": ["", "5", "12,5", "-1", "212,000"],
    "removed_odometer": ["", "3", "900"],
}
DAYS = ["2022-01-01", "2022-06-01", "2023-01-01", "31.12.2023", "", "2999-01-01", "soon"]


@st.composite
def plausible_files(draw):
    kind = draw(KINDS)
    columns = [column.name for column in kind.columns]
    cell = {
        name: st.sampled_from(POOLS.get(name, DAYS if name.endswith(("_on", "_at")) else ["", "x", "7"]))
        for name in columns
    }
    lines = draw(st.lists(st.fixed_dictionaries(cell), min_size=1, max_size=8))
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, delimiter=draw(st.sampled_from(",;|\t")))
    writer.writeheader()
    writer.writerows(lines)
    return kind, lines, out.getvalue().encode()


@tolerant
@given(kind=KINDS, content=st.binary(max_size=400))
def test_any_bytes_are_a_trial_run_or_a_refusal(crew, kind, content):
    trial, error = outcome(run_trial, user=crew.manager, kind=kind, content=content)
    assert error.field == "file" if error else sum(trial.tally.values()) == len(trial.verdicts)


@tolerant
@given(kind=KINDS, lines=st.lists(st.text(max_size=60), min_size=1, max_size=6))
def test_any_text_under_a_right_heading_is_judged_line_by_line(crew, kind, lines):
    heading = ",".join(column.name for column in kind.columns if column.required)
    content = "\n".join([heading, *lines]).encode()
    trial, error = outcome(run_trial, user=crew.manager, kind=kind, content=content)
    assert isinstance(error, FleetError) or sum(trial.tally.values()) == len(trial.verdicts)


@tolerant
@given(file=plausible_files())
def test_taken_and_refused_lines_add_up_and_the_same_file_again_changes_nothing(crew, file):
    kind, lines, content = file
    waiting = stage(user=crew.manager, kind=kind.name, name="f.csv", content=content)
    blank = sum(not any(line.values()) for line in lines)
    assert sum(waiting.tally.values()) == len(lines) - blank if lines else True
    go_ahead(user=crew.manager, key=waiting.key)
    held = [table.objects.count() for table in (Truck, Engine, Turbocharger, Fitment)]
    again = run_trial(user=crew.manager, kind=kind, content=content)
    settled = [
        line.verdict for line, first in zip(again.verdicts, waiting.verdicts, strict=True) if first.verdict != "refused"
    ]
    assert set(settled) <= {"same", "change"}
    assert not [step for step in again.steps if step.changes is None] or waiting.tally["refused"]
    assert held == [table.objects.count() for table in (Truck, Engine, Turbocharger, Fitment)]
    for row in (*Truck.objects.all(), *Engine.objects.all(), *Turbocharger.objects.all(), *Fitment.objects.all()):
        row.full_clean()
