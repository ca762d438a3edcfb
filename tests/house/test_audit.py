"""What the audit of libraries says, on answers of the form that pip-audit gives (its documentation; from memory)."""

from typing import Any

from tests.house.audit import judge, known


def answer(*faults: dict[str, Any], skipped: int = 0) -> dict[str, Any]:
    """One library with these faults, and some that the service does not know."""
    unknown = [{"name": f"ours{at}", "skip_reason": "not found"} for at in range(skipped)]
    return {"dependencies": [{"name": "lantern", "version": "1.2", "vulns": list(faults)}, *unknown], "fixes": []}


FAULT = {"id": "GHSA-xxxx", "aliases": ["CVE-2026-1"], "fix_versions": ["1.3"], "description": ""}


def test_a_known_fault_fails_and_names_the_version_that_mends_it() -> None:
    code, told = judge(answer(FAULT), {})
    assert code == 1
    assert told[-1] == "lantern 1.2: GHSA-xxxx, mended in 1.3"


def test_a_fault_with_a_reason_is_lived_with_under_any_of_its_numbers() -> None:
    code, told = judge(answer(FAULT), {"CVE-2026-1": "we never call it"})
    assert code == 0
    assert "lived with: we never call it" in told[-1]


def test_a_fault_listed_without_a_reason_fails() -> None:
    assert judge(answer(FAULT), {"CVE-2026-1": " "})[0] == 1


def test_a_library_without_faults_passes() -> None:
    assert judge(answer(skipped=2), {}) == (0, ["1 libraries held against the known faults, 2 not known there."])


def test_a_service_that_knows_nothing_did_not_answer() -> None:
    nothing = answer(skipped=3)
    nothing["dependencies"] = nothing["dependencies"][1:]
    for found in (None, nothing):
        code, told = judge(found, {})
        assert code == 0
        assert "did not answer" in told[0]


def test_every_fault_that_we_live_with_has_its_reason() -> None:
    assert [number for number, reason in known().items() if not reason.strip()] == []
