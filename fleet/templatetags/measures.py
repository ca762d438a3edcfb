"""Distances in the reader's own unit."""

from django import template

from checks.measurement.units import convert
from fleet.models import User

register = template.Library()


@register.filter
def whole(value: float) -> str:
    """A whole number as numbers are written on pages: 1,340 and −1, never -0."""
    return f"{round(value):,}".replace("-", "−")


@register.simple_tag
def distance(km: float | None, user: User) -> str:
    """Show kilometres in the unit of `user`, whole."""
    if km is None:
        return "—"
    return f"{convert(km, 'km', user.distance_unit):,.0f} {user.distance_unit}"
