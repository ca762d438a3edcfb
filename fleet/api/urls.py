"""Addresses of the register for programs."""

from django.urls import URLPattern, URLResolver, path

from fleet.api import events, jobs, register, trips, trips_files, turbochargers

urlpatterns: list[URLPattern | URLResolver] = [
    path("depots/", register.Depots.as_view(), name="api-depots"),
    path("depots/<int:pk>/", register.DepotDetail.as_view(), name="api-depot"),
    path("trucks/", register.Trucks.as_view(), name="api-trucks"),
    path("trucks/<int:pk>/", register.TruckDetail.as_view(), name="api-truck"),
    path("engines/", register.Engines.as_view(), name="api-engines"),
    path("engines/<int:pk>/", register.EngineDetail.as_view(), name="api-engine"),
    path("engines/<int:pk>/install/", events.Install.as_view(), name="api-install"),
    path("engines/<int:pk>/uninstall/", events.Uninstall.as_view(), name="api-uninstall"),
    path("turbocharger-models/", turbochargers.Models.as_view(), name="api-models"),
    path("turbocharger-models/<int:pk>/", turbochargers.ModelDetail.as_view(), name="api-model"),
    path("turbochargers/", turbochargers.Turbochargers.as_view(), name="api-turbochargers"),
    path("turbochargers/<int:pk>/", turbochargers.TurbochargerDetail.as_view(), name="api-turbocharger"),
    path("turbochargers/<int:pk>/fit/", events.Fit.as_view(), name="api-fit"),
    path("turbochargers/<int:pk>/remove/", events.Remove.as_view(), name="api-remove"),
    path("turbochargers/<int:pk>/swap/", events.Swap.as_view(), name="api-swap"),
    path("fitments/", events.Fitments.as_view(), name="api-fitments"),
    path("meter-readings/", events.MeterReadings.as_view(), name="api-meter-readings"),
    path("trips/", trips.Trips.as_view(), name="api-trips"),
    path("trips/batches/", trips_files.TripBatches.as_view(), name="api-trip-batches"),
    path("trips/imports/", trips_files.TripImports.as_view(), name="api-trip-imports"),
    path("trips/imports/<uuid:key>/", trips_files.TripImportDetail.as_view(), name="api-trip-import"),
    path("trips/imports/<uuid:key>/refused/", trips_files.TripImportRefused.as_view(), name="api-trip-refused"),
    path("jobs/<int:pk>/", jobs.JobDetail.as_view(), name="api-job"),
    path("notes/", events.Notes.as_view(), name="api-notes"),
]
