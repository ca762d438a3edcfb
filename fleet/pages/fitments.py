"""The work of the bay: fitting, removing and swapping turbochargers."""

from typing import Any

from fleet.pages.bay_forms import FitForm, RemoveForm, SwapForm
from fleet.pages.turbochargers import OfTurbocharger
from fleet.selectors.find import engine_by_name, turbocharger_by_serial
from fleet.selectors.turbocharger import spare_serials
from fleet.services.fitment import fit_turbocharger, remove_turbocharger, swap_turbocharger
from fleet.services.meter import meter_of
from fleet.web.access import TECHNICIAN, TechnicianView


class Fit(TechnicianView, OfTurbocharger):
    form_class = FitForm
    title = "Fit turbocharger"
    submit = "Record the fitting"
    lead = "Read the truck's meters when you fit it: drift is counted from here."
    done = "The turbocharger is fitted."
    caution = True

    def get_initial(self) -> dict[str, Any]:
        return self.handed_on("engine", "position")

    def serve(self, typed: dict[str, Any]) -> str:
        user = self.person
        fit_turbocharger(
            user=user, turbocharger=self.row, position=typed["position"], fitted_on=typed["fitted_on"],
            engine=engine_by_name(user, typed["engine"], field="engine", role=TECHNICIAN), meter=meter_of(typed),
        )  # fmt: skip
        return self.back()


class Remove(TechnicianView, OfTurbocharger):
    form_class = RemoveForm
    title = "Remove turbocharger"
    submit = "Record the removal"
    lead = "It stays in the depot's stock with all its history."
    done = "The turbocharger is off its engine."
    caution = True

    def serve(self, typed: dict[str, Any]) -> str:
        remove_turbocharger(
            user=self.person, turbocharger=self.row, removed_on=typed["removed_on"],
            meter=meter_of(typed), reason=typed["reason"],
        )  # fmt: skip
        return self.back()


class Swap(TechnicianView, OfTurbocharger):
    form_class = SwapForm
    title = "Swap out turbocharger"
    submit = "Record the swap"
    lead = "One comes off and the other goes on, at one date and meter: both are recorded, or neither."
    done = "The swap is recorded."
    caution = True

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        unit = self.row
        spare = spare_serials(self.person, model=unit.model_id, depot=unit.depot_id)
        return super().get_context_data(**context) | {"suggestions": spare, "suggested_for": "on"}

    def get_form(self, form_class: Any = None) -> Any:
        form = super().get_form(form_class)
        form.fields["on"].widget.attrs["list"] = "suggestions"
        return form

    def serve(self, typed: dict[str, Any]) -> str:
        user = self.person
        swap_turbocharger(
            user=user, off=self.row, swapped_on=typed["swapped_on"], reason=typed["reason"],
            on=turbocharger_by_serial(user, typed["on"], field="on", role=TECHNICIAN), meter=meter_of(typed),
        )  # fmt: skip
        return self.back()
