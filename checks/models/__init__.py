"""The check and what is derived from it."""

from checks.models.amendment import Amendment
from checks.models.assessment import Assessment
from checks.models.certificate import Certificate, CertificatePoint
from checks.models.check import Check, Reading, Stroke
from checks.models.complaint_study import ComplaintAnswer, ComplaintStudy
from checks.models.draft import Draft
from checks.models.forecast import BayPlace, DriftFit, Forecast
from checks.models.fuel import FuelFit, FuelMonth
from checks.models.fuel_cost import FuelLoss, FuelTotal
from checks.models.fuel_price import FuelPrice
from checks.models.instrument import Instrument
from checks.models.life import LifeFit
from checks.models.photo import CheckPhoto
from checks.models.plan import Policy, Standing
from checks.models.publication import Publication
from checks.models.recall import Recall, RecalledStroke, RecallEntry
from checks.models.restoration import Restoration
from checks.models.specification import SpecificationRevision
from checks.models.study import Study, StudyAmendment, StudyPart, StudyReading
from checks.models.truck_month import TruckMonth

__all__ = [
    "Amendment",
    "Assessment",
    "BayPlace",
    "Certificate",
    "CertificatePoint",
    "Check",
    "CheckPhoto",
    "ComplaintAnswer",
    "ComplaintStudy",
    "Draft",
    "DriftFit",
    "Forecast",
    "FuelFit",
    "FuelLoss",
    "FuelMonth",
    "FuelPrice",
    "FuelTotal",
    "Instrument",
    "LifeFit",
    "Policy",
    "Publication",
    "Reading",
    "Recall",
    "RecallEntry",
    "RecalledStroke",
    "Restoration",
    "SpecificationRevision",
    "Standing",
    "Stroke",
    "Study",
    "StudyAmendment",
    "StudyPart",
    "StudyReading",
    "TruckMonth",
]
