"""The check and what is derived from it."""

from checks.models.assessment import Assessment
from checks.models.check import Amendment, Check, Draft, Reading, Stroke
from checks.models.complaint_study import ComplaintAnswer, ComplaintStudy
from checks.models.forecast import BayPlace, DriftFit, Forecast
from checks.models.fuel import FuelFit, FuelLoss, FuelMonth, FuelPrice, FuelTotal, TruckMonth
from checks.models.instrument import Certificate, CertificatePoint, Instrument
from checks.models.life import LifeFit
from checks.models.photo import CheckPhoto
from checks.models.plan import Policy, Standing
from checks.models.recall import Recall, RecalledStroke, RecallEntry
from checks.models.restoration import Restoration
from checks.models.specification import SpecificationRevision
from checks.models.study import Publication, Study, StudyAmendment, StudyPart, StudyReading

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
