"""Addresses of the register of fuel prices."""

from django.urls import URLPattern, path

from checks.pages import fuel_price

urlpatterns: list[URLPattern] = [
    path("fuel/prices/", fuel_price.FuelPricesPage.as_view(), name="fuel_prices"),
    path("fuel/prices/add/", fuel_price.FuelPriceAdd.as_view(), name="fuel_price_add"),
    path("fuel/prices/<int:pk>/amend/", fuel_price.FuelPriceAmend.as_view(), name="fuel_price_amend"),
]
