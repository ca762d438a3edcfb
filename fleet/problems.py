"""The errors that a person can act on; imports nothing of ours."""

import errno
from collections.abc import Iterable


class FleetError(Exception):
    """Something a person asked for cannot be done.

    Parameters
    ----------
    code : stable word for machines, such as ``already_fitted``.
    field : name of the input that is wrong, or ``""`` when no single one is.
    sentence : what was wrong, what was expected, what to do.
    status : HTTP status to answer with.
    """

    def __init__(self, code: str, field: str, sentence: str, status: int = 400) -> None:
        super().__init__(code, field, sentence, status)
        self.code = code
        self.field = field
        self.sentence = sentence
        self.status = status

    def __str__(self) -> str:
        return self.sentence

    def __reduce__(self) -> tuple[type["FleetError"], tuple[str, str, str, int]]:
        return type(self), (self.code, self.field, self.sentence, self.status)


class FleetErrors(FleetError):
    """Several inputs are wrong at once; ``errors`` holds each with its own field.

    It reads as its first error wherever only one can be shown.
    """

    def __init__(self, errors: Iterable[FleetError]) -> None:
        self.errors: tuple[FleetError, ...] = tuple(errors)
        first = self.errors[0]
        super().__init__(first.code, first.field, first.sentence, first.status)

    def __reduce__(self) -> tuple[type["FleetErrors"], tuple[tuple[FleetError, ...]]]:  # type: ignore[override]
        return type(self), (self.errors,)


def each_error(error: FleetError) -> tuple[FleetError, ...]:
    """The single errors that `error` consists of."""
    return error.errors if isinstance(error, FleetErrors) else (error,)


# No room, no room for this person, or a limit on the size of files; how SQLite and PostgreSQL put it (SQLSTATE 53100).
NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
NO_ROOM_WORDS = ("database or disk is full", "No space left on device", "File too large")


def disk_is_full(error: BaseException | None) -> bool:
    """Whether an error, or one that it came from, says that nothing more can be written."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in NO_ROOM:
            return True
        if getattr(error, "sqlstate", "") == "53100" or any(words in str(error) for words in NO_ROOM_WORDS):
            return True
        error = error.__cause__ or error.__context__
    return False
