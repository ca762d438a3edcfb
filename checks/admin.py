"""Checks and what is derived from them, for whoever keeps the installation: to look at, not to change."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from checks.models import (
    Amendment,
    Assessment,
    Certificate,
    CertificatePoint,
    Check,
    Draft,
    Instrument,
    Policy,
    Reading,
    SpecificationRevision,
    Standing,
    Stroke,
)


class LookOnly(admin.ModelAdmin):
    """Facts are amended with a reason and derived rows are rebuilt; neither is edited here."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Check)
class CheckAdmin(LookOnly):
    """Signed checks."""

    list_display = ["turbocharger", "made_at", "depot", "technician", "reason", "source"]
    list_filter = ["depot", "reason", "source"]
    search_fields = ["turbocharger__serial", "key"]
    list_select_related = ["turbocharger", "depot", "technician"]
    date_hierarchy = "made_at"


@admin.register(Assessment)
class AssessmentAdmin(LookOnly):
    """Verdicts, current and earlier."""

    list_display = ["stroke", "state", "is_current", "basis", "travel_mm", "p_inside", "made_at"]
    list_filter = ["state", "is_current", "basis"]
    list_select_related = ["stroke__check_made__turbocharger"]


@admin.register(Standing)
class StandingAdmin(LookOnly):
    """Where units stand and when to look again."""

    list_display = ["turbocharger", "state", "due_on", "binding_rule", "derived_at"]
    list_filter = ["state", "binding_rule"]
    search_fields = ["turbocharger__serial"]
    list_select_related = ["turbocharger"]


@admin.register(Amendment)
class AmendmentAdmin(LookOnly):
    """Corrections of signed checks."""

    list_display = ["check_made", "field", "old_value", "new_value", "author", "made_at"]
    list_select_related = ["check_made__turbocharger", "author"]


@admin.register(Draft)
class DraftAdmin(LookOnly):
    """Checks begun and not signed."""

    list_display = ["turbocharger", "author", "step", "touched_at"]
    list_select_related = ["turbocharger", "author"]


@admin.register(Stroke)
class StrokeAdmin(LookOnly):
    """Strokes of checks."""

    list_display = ["check_made", "moment"]
    list_select_related = ["check_made__turbocharger"]


@admin.register(Reading)
class ReadingAdmin(LookOnly):
    """Readings as typed."""

    list_display = ["stroke", "order", "phase", "stimulus_typed", "stimulus_unit", "travel_typed", "travel_unit"]
    list_select_related = ["stroke__check_made__turbocharger"]


@admin.register(SpecificationRevision)
class SpecificationRevisionAdmin(LookOnly):
    """Specifications; the pages enter them, since they convert what was typed."""

    list_display = ["turbocharger_model", "revision", "effective_from", "effective_to", "source_document"]
    list_filter = ["turbocharger_model"]
    list_select_related = ["turbocharger_model"]


@admin.register(Instrument)
class InstrumentAdmin(LookOnly):
    """Instruments, in stored units."""

    list_display = ["label", "kind", "depot", "withdrawn_on"]
    list_filter = ["kind", "depot"]
    search_fields = ["label", "description"]
    list_select_related = ["depot"]


class PointsInline(admin.TabularInline):
    """The points of a certificate."""

    model = CertificatePoint
    extra = 0
    can_delete = False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Certificate)
class CertificateAdmin(LookOnly):
    """Certificates with their points."""

    list_display = ["instrument", "number", "issued_on", "due_on", "superseded_reason"]
    list_filter = ["instrument__depot"]
    search_fields = ["number", "instrument__label"]
    list_select_related = ["instrument"]
    inlines = [PointsInline]


@admin.register(Policy)
class PolicyAdmin(LookOnly):
    """The one policy."""

    list_display = ["inside_level", "calendar_max_days", "usage_max_km"]
