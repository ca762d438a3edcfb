"""The key of a program's write."""

import uuid

import pytest
from django.test import RequestFactory

from fleet.problems import FleetError
from fleet.web.idempotency import key_of

KEY = uuid.UUID("7f0c1c4e-5a0e-4d6b-9c59-0d6f6a2f8b11")  # fixed, so that both workers collect the same tests


@pytest.mark.parametrize("text", [str(KEY), KEY.hex, f'"{KEY}"', f" {KEY} "])
def test_a_uuid_is_read_however_it_is_written(text: str) -> None:
    assert key_of(RequestFactory().post("/", headers={"Idempotency-Key": text})) == KEY


@pytest.mark.parametrize(("text", "code"), [("", "idempotency_key_missing"), ("42", "idempotency_key_malformed")])
def test_anything_else_is_refused_with_the_fix(text: str, code: str) -> None:
    with pytest.raises(FleetError, match="UUID") as refusal:
        key_of(RequestFactory().post("/", headers={"Idempotency-Key": text}))
    assert refusal.value.code == code
