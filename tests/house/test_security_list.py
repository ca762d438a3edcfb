"""The list of what holds is whole: every item of level 1 and 2 of ASVS 5.0.0 once, with a state and its reason.

How many items each section of the standard has: from the English CSV in the standard's own repository, version 5.0.0.
"""

import re

import pytest

from tests.house.source import ROOT

TEXT = (ROOT / "fleet/SECURITY.md").read_text()
STATES = {"met", "in part", "open", "operator", "none of ours"}
# Section: its items of level 1 and 2, as the last number of each.
ITEMS = {
    "1.1": "1-2", "1.2": "1-9", "1.3": "1-11", "1.4": "1-3", "1.5": "1-2", "2.1": "1-3", "2.2": "1-3", "2.3": "1-4",
    "2.4": "1", "3.2": "1-2", "3.3": "1-4", "3.4": "1-6", "3.5": "1-5", "3.7": "1-2", "4.1": "1-3", "4.2": "1",
    "4.3": "1-2", "4.4": "1-4", "5.1": "1", "5.2": "1-3", "5.3": "1-2", "5.4": "1-3", "6.1": "1-3", "6.2": "1-12",
    "6.3": "1-4", "6.4": "1-4", "6.5": "1-5", "6.6": "1-3", "6.8": "1-4", "7.1": "1-3", "7.2": "1-4", "7.3": "1-2",
    "7.4": "1-5", "7.5": "1-2", "7.6": "1-2", "8.1": "1-2", "8.2": "1-3", "8.3": "1", "8.4": "1", "11.1": "1-2",
    "11.2": "1-3", "11.3": "1-3", "11.4": "1-4", "11.5": "1", "11.6": "1", "12.1": "1-3", "12.2": "1-2", "12.3": "1-4",
    "13.1": "1", "13.2": "1-5", "13.3": "1-2", "13.4": "1-5", "14.1": "1-2", "14.2": "1-4", "14.3": "1-3",
    "15.1": "1-3", "15.2": "1-3", "15.3": "1-7", "16.1": "1", "16.2": "1-5", "16.3": "1-4", "16.4": "1-3",
    "16.5": "1-3",
}  # fmt: skip


def rows() -> list[list[str]]:
    lines = [line for line in TEXT.splitlines() if re.match(r"\| \d", line)]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def spelled(items: str) -> list[str]:
    """The numbers of a cell such as '1.4.1 – 1.4.3, 7.1.1'."""
    found = []
    for part in items.split(","):
        first, _, last = (word.strip() for word in part.partition("–"))
        section, _, begin = first.rpartition(".")
        if last and last.rpartition(".")[0] != section:
            return []  # a whole chapter that does not exist here
        end = int(last.rpartition(".")[2]) if last else int(begin)
        found += [f"{section}.{number}" for number in range(int(begin), end + 1)]
    return found


def expected() -> list[str]:
    numbers = []
    for section, span in ITEMS.items():
        first, _, last = span.partition("-")
        numbers += [f"{section}.{number}" for number in range(int(first), int(last or first) + 1)]
    return numbers


def test_every_item_stands_there_once() -> None:
    listed = [number for row in rows() for number in spelled(row[0])]
    assert sorted(listed) == sorted(expected())


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0])
def test_an_item_has_a_state_and_one_that_is_not_met_a_reason(row: list[str]) -> None:
    _, about, state, reason = row
    assert about
    assert state in STATES
    assert reason or state in {"met", "none of ours"}


def test_what_the_list_names_is_there() -> None:
    named = re.findall(r"`((?:fleet|checks|reports|tests)/[\w/.]+)`", TEXT)
    assert len(named) > 40
    assert [path for path in named if not (ROOT / path).exists()] == []
