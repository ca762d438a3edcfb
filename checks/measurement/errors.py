"""The core's one error: a code to test against, the field at fault, and a sentence for the person who must act."""

from collections.abc import Sequence

from checks.measurement.telling import Value, tell


class MeasurementError(Exception):
    """A value from which nothing can be computed.

    Parameters
    ----------
    code : str
        Stable name of the fault, for example ``outside_calibrated_range``.
    field : str
        Name of the input at fault, as in the dataclass that carries it.
    sentence : str
        What was wrong, what was expected and what to do; ``{}`` where each of ``values`` stands.
    values : sequence of Value
        Numbers in the sentence, for readers with units of their own.
    """

    def __init__(self, code: str, field: str, sentence: str, values: Sequence[Value] = ()) -> None:
        self.code = code
        self.field = field
        self.pattern = sentence
        self.values = tuple(values)
        self.sentence = tell(sentence, values)
        super().__init__(self.sentence)

    def __reduce__(self) -> tuple[type["MeasurementError"], tuple[str, str, str, tuple[Value, ...]]]:
        # Exceptions with several arguments do not survive a process boundary otherwise.
        return type(self), (self.code, self.field, self.pattern, self.values)
