"""Addresses of reports."""

from django.urls import URLPattern, URLResolver, path

from reports.blank import BlankSheetsView
from reports.board import BoardView
from reports.check import CheckSheetView, CheckView
from reports.complaint_study import StudyFileView, StudyView
from reports.complaints import ComplaintsView, ComplaintView
from reports.drift import ModelsView, ModelView
from reports.due import DueView
from reports.feeds import CalendarView
from reports.first_steps import FirstStepsView
from reports.fuel import FuelFileView, FuelView
from reports.guide import GuidesView, GuideView
from reports.intervals import IntervalsView
from reports.labels import LabelSheetView, LabelsView
from reports.life import LifeFileView, LifeView
from reports.restored import RestoredFileView, RestoredView
from reports.review_page import ReviewFileView, ReviewProgressView, ReviewsView, ReviewView
from reports.studies import MeasurementFileView, MeasurementView, StudySheetView
from reports.tour import TourView
from reports.unit import UnitView
from reports.upkeep import RetryView, UpkeepView
from reports.week import MoveView, PlanView, SheetsView, UndoView, WeeksView, WeekView

app_name = "reports"
urlpatterns: list[URLPattern | URLResolver] = [
    path("", BoardView.as_view(), name="board"),
    path("first-steps/", FirstStepsView.as_view(), name="first_steps"),
    path("guide/", GuidesView.as_view(), name="guides"),
    path("guide/<slug:key>/", GuideView.as_view(), name="guide"),
    path("upkeep/", UpkeepView.as_view(), name="upkeep"),
    path("upkeep/retry/<int:job_id>/", RetryView.as_view(), name="upkeep_retry"),
    path("demo/", TourView.as_view(), name="tour"),
    path("units/<int:pk>/", UnitView.as_view(), name="unit"),
    path("models/", ModelsView.as_view(), name="models"),
    path("models/<int:pk>/drift/", ModelView.as_view(), name="model"),
    path("intervals/", IntervalsView.as_view(), name="intervals"),
    path("blank-sheets/", BlankSheetsView.as_view(), name="blank_sheets"),
    path("labels/", LabelsView.as_view(), name="labels"),
    path("labels/sheet/", LabelSheetView.as_view(), name="label_sheet"),
    path("complaints/", ComplaintsView.as_view(), name="complaints"),
    path("complaints/evidence/", StudyView.as_view(), name="complaint_study"),
    path("complaints/evidence.csv", StudyFileView.as_view(), name="complaint_study_file"),
    path("complaints/<int:pk>/", ComplaintView.as_view(), name="complaint"),
    path("fuel/", FuelView.as_view(), name="fuel"),
    path("fuel/units.csv", FuelFileView.as_view(), name="fuel_file"),
    path("fuel/restored/", RestoredView.as_view(), name="restored"),
    path("fuel/restored.csv", RestoredFileView.as_view(), name="restored_file"),
    path("life/", LifeView.as_view(), name="life"),
    path("life/groups.csv", LifeFileView.as_view(), name="life_file"),
    path("life/lives.csv", LifeFileView.as_view(lives=True), name="lives_file"),
    path("reviews/", ReviewsView.as_view(), name="reviews"),
    path("reviews/<int:pk>/", ReviewView.as_view(), name="review"),
    path("reviews/<int:pk>/progress/", ReviewProgressView.as_view(), name="review_progress"),
    path("reviews/<int:pk>/files/<str:kind>/", ReviewFileView.as_view(), name="review_file"),
    path("studies/<int:pk>/", MeasurementView.as_view(), name="study"),
    path("studies/<int:pk>/order/", StudySheetView.as_view(), name="study_sheet"),
    path("studies/<int:pk>/<str:kind>.csv", MeasurementFileView.as_view(), name="study_file"),
    path("due/", DueView.as_view(), name="due"),
    path("week/", WeeksView.as_view(), name="weeks"),
    path("depots/<slug:code>/week/", WeekView.as_view(), name="week"),
    path("depots/<slug:code>/week/sheets/", SheetsView.as_view(), name="week_sheets"),
    path("depots/<slug:code>/week/move/", MoveView.as_view(), name="week_move"),
    path("depots/<slug:code>/week/undo/", UndoView.as_view(), name="week_undo"),
    path("depots/<slug:code>/week/plan/", PlanView.as_view(), name="week_plan"),
    path("calendar/<str:secret>.ics", CalendarView.as_view(), name="calendar"),
    path("checks/<int:pk>/", CheckView.as_view(), name="check"),
    path("checks/<int:pk>/sheet/", CheckSheetView.as_view(), name="check_sheet"),
]
