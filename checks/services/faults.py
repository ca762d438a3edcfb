"""Everything that is wrong with one submission, told at once."""

from fleet.problems import FleetError, FleetErrors


class Faults:
    """Collects faults with their fields, so that a person mends all of them in one go."""

    def __init__(self) -> None:
        self.errors: list[FleetError] = []

    def add(self, code: str, field: str, sentence: str) -> None:
        """Note that ``field`` is wrong."""
        self.errors.append(FleetError(code, field, sentence))

    def settle(self) -> None:
        """Raise FleetErrors if anything was wrong so far."""
        if self.errors:
            raise FleetErrors(self.errors)
