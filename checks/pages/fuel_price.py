"""The register of fuel prices."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views import View

from checks.models import FuelPrice
from checks.pages.entry_view import EntryView
from checks.pages.fields import EntryForm, choice_field, day_field, quantity_field, text_field
from checks.selectors.fuel_price import price_rows, prices_of
from checks.services.entry import Entry
from checks.services.fuel_price import FLEET, PER, add_price, amend_price
from fleet.models import Depot, Membership, User
from fleet.selectors import scope
from fleet.web.access import PersonRequest, ViewerView


class PriceForm(EntryForm):
    """A price, the day from which it holds, and its currency."""

    groups = (("", ("depot", "valid_from", "price", "currency", "reason")),)
    valid_from = day_field("From", hint="It holds until the next one at the same place.")
    price = quantity_field("Price", tuple(PER), hint="As you pay it, with or without tax, but always alike.")
    currency = text_field("Currency", hint="Three letters, such as EUR.")

    def __init__(self, *arguments: Any, depots: list[Depot] | None = None, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if depots is None:
            self.fields["reason"] = text_field("Reason for the correction")
            return
        choices = [(FLEET, "every depot without a price of its own"), *((str(one.pk), one.name) for one in depots)]
        self.fields["depot"] = choice_field("Where", choices)


class FuelPricesPage(ViewerView, View):
    """Every price by depot, with what was corrected."""

    def get(self, request: PersonRequest) -> HttpResponse:
        """Show the list."""
        rows = price_rows(request.user)
        managed = _managed(request.user)
        keys = {depot.pk for depot in managed}
        context = {
            "rows": [
                (row, bool(managed) and (row.price.depot_id is None or row.price.depot_id in keys)) for row in rows
            ],
            "manages": bool(managed),
            "today": timezone.localdate(),
        }
        return render(request, "checks/fuel_prices.html", context)


class _PriceEntry(EntryView):
    """What both forms have in common."""

    done = "The price is kept. What fuel losses are worth follows within a minute."

    def next_address(self, row: Any) -> str:
        return reverse("checks:fuel_prices")


class FuelPriceAdd(_PriceEntry):
    """Enter a price from a day on."""

    def make_form(self, data: Any = None) -> EntryForm:
        last = FuelPrice.objects.order_by("-pk").first()
        begun = {"valid_from": timezone.localdate().replace(day=1), "currency": last.currency if last else ""}
        if last:
            begun["price"] = {"text": "", "unit": last.typed.get("price", ["", "per litre"])[1]}
        return PriceForm(data, depots=_managed(self.request.user), initial=begun)

    def keep(self, entry: Entry) -> Any:
        return add_price(author=self.request.user, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "A depot's own price goes before the fleet's. Months before the first price take the first."
        return {"title": "Add a fuel price", "lead": lead, "button": "Add it", "back": self.next_address(None)}


class FuelPriceAmend(_PriceEntry):
    """Correct a price; the old one stays on record."""

    price: FuelPrice

    def load(self) -> None:
        self.price = get_object_or_404(prices_of(self.request.user), pk=self.kwargs["pk"])
        scope.require(self.request.user, Membership.Role.MANAGER, self.price.depot)

    def make_form(self, data: Any = None) -> EntryForm:
        row = self.price
        text, unit = row.typed.get("price", [f"{row.per_litre.normalize():f}", "per litre"])
        begun = {"valid_from": row.valid_from, "price": {"text": text, "unit": unit}, "currency": row.currency}
        return PriceForm(data, initial=begun)

    def keep(self, entry: Entry) -> Any:
        return amend_price(author=self.request.user, price=self.price, entry=entry)

    def words(self) -> dict[str, Any]:
        where = self.price.depot or "every depot without a price of its own"
        lead = f"For {where}. For a price that changed, add a new one from its day instead."
        return {
            "title": "Correct a fuel price",
            "lead": lead,
            "button": "Keep the correction",
            "back": self.next_address(None),
        }


def _managed(user: User) -> list[Depot]:
    return list(scope.depots_of(user, role=Membership.Role.MANAGER).order_by("name").distinct())
