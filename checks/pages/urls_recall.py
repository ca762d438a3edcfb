"""Addresses of recalls."""

from django.urls import URLPattern, path

from checks.pages import recall, recall_entries

urlpatterns: list[URLPattern] = [
    path("recalls/", recall.RecallsPage.as_view(), name="recalls"),
    path("recalls/<int:pk>/", recall.RecallPage.as_view(), name="recall"),
    path("recalls/<int:pk>/letter/", recall.RecallLetter.as_view(), name="recall_letter"),
    path("recalls/<int:pk>/day/", recall_entries.RecallDay.as_view(), name="recall_day"),
    path("recalls/<int:pk>/close/", recall_entries.RecallClose.as_view(), name="recall_close"),
    path("recalls/<int:pk>/accept/<int:unit>/", recall_entries.RecallAccept.as_view(), name="recall_accept"),
]
