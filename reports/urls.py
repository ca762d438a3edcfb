"""Addresses of reports."""

from django.urls import URLPattern, URLResolver, path

from reports.pages.blank import BlankSheetsView
from reports.pages.board import BoardView
from reports.pages.calendar import CalendarView
from reports.pages.check import CheckSheetView, CheckView
from reports.pages.complaint_study import ComplaintStudyFileView, ComplaintStudyView
from reports.pages.complaints import ComplaintsView, ComplaintView
from reports.pages.drift import ModelsView, ModelView
from reports.pages.due import DueView
from reports.pages.first_steps import FirstStepsView
from reports.pages.fuel import FuelFileView, FuelView
from reports.pages.guide import GuidesView, GuideView
from reports.pages.intervals import IntervalsView
from reports.pages.labels import LabelSheetView, LabelsView
from reports.pages.life import LifeView
from reports.pages.life_files import LifeFileView
from reports.pages.restored import RestoredFileView, RestoredView
from reports.pages.review import ReviewFileView, ReviewProgressView, ReviewsView, ReviewView
from reports.pages.study import StudyFileView, StudySheetView, StudyView
from reports.pages.tour import TourView
from reports.pages.unit import UnitView
from reports.pages.upkeep import RetryView, UpkeepView
from reports.pages.week import SheetsView, WeeksView, WeekView
from reports.pages.week_changes import MoveView, PlanView, UndoView

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
    path("complaints/evidence/", ComplaintStudyView.as_view(), name="complaint_study"),
    path("complaints/evidence.csv", ComplaintStudyFileView.as_view(), name="complaint_study_file"),
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
    path("studies/<int:pk>/", StudyView.as_view(), name="study"),
    path("studies/<int:pk>/order/", StudySheetView.as_view(), name="study_sheet"),
    path("studies/<int:pk>/<str:kind>.csv", StudyFileView.as_view(), name="study_file"),
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
