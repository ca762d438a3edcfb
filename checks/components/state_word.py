"""A state of a reading or of a unit: always a word beside a mark of its own shape."""

from dataclasses import dataclass

STATE_WORDS = {
    "inside": "inside",
    "outside_low": "outside low",
    "outside_high": "outside high",
    "undecided": "undecided",
    "void": "void",
    "leaving": "leaving",
    "overdue": "overdue",
    "never_checked": "never checked",
}


@dataclass(frozen=True, slots=True)
class StateWord:
    """A state as its word and its mark of own shape; never a colour alone."""

    state: str
    word: str

    @property
    def hollow(self) -> bool:
        return self.state == "undecided"


def state_word(state: str) -> StateWord:
    """Context of ``{% state_word %}``. `state` is a key of STATE_WORDS."""
    return StateWord(state, STATE_WORDS[state])
