"""The register for administrators. Records of what happened are looked at here and written through the pages."""

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest
from django_otp.plugins.otp_totp.models import TOTPDevice
from simple_history.admin import SimpleHistoryAdmin

from fleet.models import (
    Complaint,
    Depot,
    Engine,
    Fitment,
    Installation,
    Membership,
    MeterReading,
    Note,
    Truck,
    Turbocharger,
    TurbochargerModel,
    User,
)
from fleet.models.vin import read_vin
from fleet.problems import FleetError


class LookOnly(admin.ModelAdmin):
    """Rows that are looked at here and written elsewhere."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Undeleted(admin.ModelAdmin):
    """Rows that are never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Kept(Undeleted, SimpleHistoryAdmin):
    """Rows that may be corrected but never deleted, since history hangs on them."""

    # What moves or decides other rows changes only through the pages, which see to those as well.
    settled: tuple[str, ...] = ()

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return self.settled if obj else ()


class Happened(LookOnly, Kept):
    """Records of what happened."""


class TruckAdminForm(forms.ModelForm):
    """Holds the VIN to the same rules as the pages."""

    class Meta:
        model = Truck
        fields = ("depot", "unit_number", "check_digit", "vin", "description", "in_service_on", "retired_on")

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or self.cleaned_data
        required = typed.get("check_digit") == Truck.CheckDigit.REQUIRED
        try:
            typed["vin"] = read_vin(typed.get("vin", ""), check_digit_required=required)
        except FleetError as error:
            self.add_error("vin", forms.ValidationError(error.sentence, code=error.code))
        return typed


@admin.register(Depot)
class DepotAdmin(Kept):
    list_display = ("name", "code", "time_zone", "checks_per_day")
    search_fields = ("name", "code")


@admin.register(Truck)
class TruckAdmin(Kept):
    form = TruckAdminForm
    settled = ("depot", "retired_on")
    list_display = ("unit_number", "depot", "vin", "in_service_on", "retired_on")
    list_filter = ("depot",)
    list_select_related = ("depot",)
    search_fields = ("unit_number", "vin")


@admin.register(Engine)
class EngineAdmin(Kept):
    settled = ("depot", "layout")
    list_display = ("serial", "model", "layout", "depot")
    list_filter = ("depot", "layout")
    list_select_related = ("depot",)
    search_fields = ("serial", "model")


@admin.register(TurbochargerModel)
class TurbochargerModelAdmin(Kept):
    settled = ("stimulus",)
    list_display = ("name", "stimulus")
    search_fields = ("name",)


@admin.register(Turbocharger)
class TurbochargerAdmin(Kept):
    settled = ("depot", "received_on", "scrapped_on", "safety_flag")
    list_display = ("serial", "model", "origin", "depot", "received_on", "scrapped_on")
    list_filter = ("depot", "model", "origin")
    list_select_related = ("depot", "model")
    search_fields = ("serial",)


@admin.register(Installation)
class InstallationAdmin(Happened):
    list_display = ("engine", "truck", "installed_on", "removed_on")
    list_select_related = ("engine", "truck")
    search_fields = ("engine__serial", "truck__unit_number")


@admin.register(Fitment)
class FitmentAdmin(Happened):
    list_display = ("turbocharger", "engine", "position", "fitted_on", "removed_on")
    list_select_related = ("turbocharger", "engine")
    search_fields = ("turbocharger__serial", "engine__serial")


@admin.register(MeterReading)
class MeterReadingAdmin(Happened):
    list_display = ("truck", "read_at", "odometer_km", "engine_hours", "source")
    list_select_related = ("truck",)
    search_fields = ("truck__unit_number",)


@admin.register(Complaint)
class ComplaintAdmin(Happened):
    list_display = ("truck", "kind", "raised_on", "closed_on")
    list_filter = ("kind",)
    list_select_related = ("truck",)


@admin.register(Note)
class NoteAdmin(LookOnly, Undeleted):
    list_display = ("turbocharger", "author", "made_at")
    list_select_related = ("turbocharger", "author")


class MembershipInline(admin.TabularInline):
    model = Membership
    extra = 0


@admin.register(User)
class PersonAdmin(UserAdmin):
    """People, their depots, and their own units."""

    inlines = (MembershipInline,)
    fieldsets = (
        *(UserAdmin.fieldsets or ()),
        ("Units and theme", {"fields": ("pressure_unit", "length_unit", "distance_unit", "theme")}),
    )


@admin.register(TOTPDevice)
class SecondFactorAdmin(LookOnly):
    """Who has a second factor, without its key. Deleting it lets somebody in again who lost the device."""

    fields = ("user", "confirmed", "created_at", "last_used_at")
    list_display = ("user", "confirmed", "created_at", "last_used_at")
    list_select_related = ("user",)
    search_fields = ("user__username",)
