"""A technician who walks through the guided check with a browser that runs no script."""

from typing import Any

from django.test import Client

from checks.models import Check, Draft
from tests.bay import RISE, Bay

PAIR = {"stimulus_unit": "psi", "travel_unit": "thou"}


class Walk:
    """One check under way; every method posts one screen and returns the answer."""

    def __init__(self, bay: Bay, user: Any = None) -> None:
        self.bay = bay
        self.client = Client()
        self.client.force_login(user or bay.technician)

    @property
    def draft(self) -> Draft:
        return Draft.objects.get(turbocharger=self.bay.turbocharger)

    def address(self, step: str) -> str:
        return f"/checks/drafts/{self.key}/{step}/"

    def begin(self) -> Any:
        answer = self.client.post(f"/checks/begin/{self.bay.turbocharger.pk}/")
        self.key = self.draft.key
        return answer

    def look(self, step: str, **query: Any) -> Any:
        return self.client.get(self.address(step), query)

    def send(self, step: str, **typed: Any) -> Any:
        return self.client.post(self.address(step), typed)

    def reason(self, **typed: Any) -> Any:
        return self.send("reason", **{"reason": "scheduled", "odometer": "212000", "odometer_unit": "km"} | typed)

    def instruments(self, **typed: Any) -> Any:
        usual = {
            "dial": self.bay.dial.pk,
            "stimulus": self.bay.gauge.pk,
            "geometry": "flat_face",
            "angle_max_deg": "2",
        }
        return self.send("instruments", **usual | typed)

    def pair(self, step: str, stimulus: str, travel: str, **more: Any) -> Any:
        return self.send(step, **PAIR | {"stimulus": stimulus, "travel": travel} | more)

    def exercise(self, step: str = "exercise", *, highest: str = "35", cycles: int = 3) -> Any:
        typed = {f"stimulus{i}": highest for i in range(cycles)} | {f"stimulus{i}_unit": "psi" for i in range(cycles)}
        return self.send(step, **typed)

    def add(
        self, stimulus: str, travel: str, *, action: str = "add", step: str = "rise", count: int | None = None
    ) -> Any:
        if count is None:
            count = len(self.listed("as_left" if step.startswith("as-left") else "as_found"))
        return self.pair(step, stimulus, travel, action=action, count=count)

    def listed(self, moment: str = "as_found") -> list[dict[str, Any]]:
        """The readings of the rise so far."""
        stroke = self.draft.answers.get(moment) or {"readings": []}
        return [row for row in stroke["readings"] if row["phase"] in {"rise", "setting", "vent"}]

    def to_the_stroke(self) -> None:
        self.begin()
        self.reason()
        self.instruments()
        self.send("cautions", read="yes")

    def to_the_rise(self) -> None:
        self.to_the_stroke()
        self.up_to_rise()

    def up_to_rise(self, prefix: str = "") -> None:
        self.pair(f"{prefix}zero", "0", "0")
        self.exercise(f"{prefix}exercise")
        self.pair(f"{prefix}zero-return", "0", "0")

    def rise(self, travel: str = "59.5", prefix: str = "") -> None:
        for psi, thou in RISE:
            self.add(str(psi), str(thou), step=f"{prefix}rise")
        self.add("31", travel, action="setting", step=f"{prefix}rise")
        self.send(f"{prefix}rise", action="next")
        self.send(f"{prefix}fall", action="next")

    def to_the_verdict(self, travel: str = "59.5") -> None:
        self.to_the_rise()
        self.rise(travel)

    def sign(self) -> Any:
        return self.send("sign", note="")

    @property
    def check(self) -> Check:
        return Check.objects.get(key=self.key)
