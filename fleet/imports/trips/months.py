"""Forming truck-months whose trips are all at hand. How is known to the checks, which leave a name for it here."""

from django.utils.module_loading import import_string

from fleet.selectors.trips import Trips

_forms: list[str] = []


def let_form(forms: str) -> None:
    """Have whole truck-months formed by the function of this dotted name: it takes trips by truck and start."""
    _forms[:] = [forms]


def form_whole(trips: Trips) -> None:
    """Form the truck-months that these trips make up, within the transaction that writes them."""
    for forms in _forms:
        import_string(forms)(trips)
